"""The metal of a flask goes through the books: in, out, back on the shelf, and back again."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from domain.books.accounts import Account, AccountKind, lot, melt
from domain.books.entries import EntryKind, Posting, moved
from domain.errors import DomainError, InvalidValue
from domain.planning.check import check
from domain.planning.plan import From, PlannedFlask
from domain.shop.lots import Lot
from domain.stock.position import metal_week
from domain.stock.week_charges import week_charges
from domain.units import Mass
from webapp.actions import flask as flasks
from webapp.actions import melts
from webapp.actions.planning import load_desk
from webapp.settings import Settings
from webapp.store import books, nouns, plans, reservations
from webapp.store.books_check import broken
from webapp.store.engine import Database, Session
from webapp.store.flasks import Stage


@pytest.fixture
def first(db: Database, settings: Settings) -> PlannedFlask:
    """A flask whose planned charge is all on the shelf, recycled metal among it, invested and fired."""
    with db.read() as session:
        stored = plans.current_plan(session)
        assert stored is not None
        charge = next(
            c for c in stored.plan.charges if all(p.origin is From.LOT for p in c.parts) and any(p.ref[0] == "R" for p in c.parts)
        )
        found = stored.plan.flask(charge.flask)
        assert found is not None
    for stage in (Stage.INVESTED, Stage.LOADED, Stage.STARTED):
        flasks.mark(db, settings, (found.id,), stage, f"{stage}")
    return found


@pytest.fixture(autouse=True)
def _whole(db: Database) -> Iterator[None]:
    yield
    with db.read() as session:
        assert broken(session) == ()


def _parts(db: Database, flask: str) -> dict[str, Mass]:
    with db.read() as session:
        return {name: part.mass for name, part in melts.planned_parts(session, flask)}


def _lots(db: Database) -> dict[str, Mass]:
    with db.read() as session:
        return {found.id: found.mass for found in nouns.all_of(session, Lot)}


def _cast(db: Database, flask: PlannedFlask, **more: Any) -> None:
    """Two thirds of the charge became pieces, nearly the rest came back."""
    with db.write() as session:
        melts.charge(session, flask.id, _parts(db, flask.id))
    with db.write() as session:
        whole = books.balance(session, melt(flask.id)).mass.base
        share = whole * 2 // 3 // len(flask.contents)
        back = Mass(whole - share * len(flask.contents) - 700)
        melts.weigh_out(session, flask.id, dict.fromkeys(flask.contents, Mass(share)), back, **more)


def test_a_plan_reserves_its_metal_and_weighing_it_issues_it(db: Database, first: PlannedFlask) -> None:
    parts, before = _parts(db, first.id), _lots(db)
    with db.read() as session:
        assert {r.lot: r.mass for r in reservations.reservations(session) if r.flask == first.id} == parts
    with db.write() as session:
        melts.charge(session, first.id, parts)
    with db.read() as session:
        assert not [r for r in reservations.reservations(session) if r.flask == first.id]
    after = _lots(db)
    assert {name: before[name] - after.get(name, Mass(0)) for name in parts} == parts


def test_what_is_marked_cast_without_a_weight_is_charged_as_planned_and_undone_with_it(
    db: Database, first: PlannedFlask, settings: Settings
) -> None:
    before = _lots(db)
    flasks.mark(db, settings, (first.id,), Stage.CAST, "cast")
    with db.read() as session:
        assert books.balance(session, melt(first.id)).mass >= first.charge
        (entry,) = melts.books_of(session, first.id).kind(EntryKind.CHARGE)
    assert entry.note == melts.AS_PLANNED
    flasks.undo(db, (first.id,), Stage.CAST, "undo")
    assert _lots(db) == before
    with db.read() as session:
        assert {r.lot: r.mass for r in reservations.reservations(session) if r.flask == first.id} == _parts(db, first.id)


def test_castings_go_to_their_jobs_and_the_rest_of_the_charge_is_the_loss(db: Database, first: PlannedFlask) -> None:
    _cast(db, first)
    with db.read() as session:
        (cast,) = melts.books_of(session, first.id).kind(EntryKind.CAST)
        assert books.balance(session, melt(first.id)).mass == Mass(0)
    assert cast.of(Account(AccountKind.LOSS, first.id)) == Mass(700)
    assert all(cast.of(Account(AccountKind.JOB, job)) > Mass(0) for job in first.contents)


def test_returns_are_a_lot_of_their_own_that_was_melted_once_more_than_what_went_in(db: Database, first: PlannedFlask) -> None:
    most = 0
    with db.read() as session:
        for name in _parts(db, first.id):
            found = nouns.find(session, Lot, name)
            assert found is not None
            most = max(most, found.melts)
    _cast(db, first)
    with db.write() as session:
        back = melts.books_of(session, first.id).uncleaned
        melts.shelve(session, first.id, back - Mass(50))
    with db.read() as session:
        shelved = nouns.find(session, Lot, f"R-{first.id}")
        assert shelved is not None
        assert (shelved.mass, shelved.melts) == (back - Mass(50), most + 1)
        assert shelved.alloy == first.melt
        assert sum(share.base for share in shelved.composition.values()) == 1_000_000
        assert melts.lots_from(session, first.id) == (shelved.id,)


def test_more_cannot_come_out_than_went_in(db: Database, first: PlannedFlask) -> None:
    with db.write() as session:
        melts.charge(session, first.id, _parts(db, first.id))
    with pytest.raises(InvalidValue, match="more came out"), db.write() as session:
        melts.weigh_out(session, first.id, {next(iter(first.contents)): Mass.g(10_000)}, Mass(0))


def test_an_entry_is_taken_back_once_and_only_while_its_metal_is_there(db: Database, first: PlannedFlask) -> None:
    _cast(db, first)
    with db.read() as session:
        cast, charge = (melts.books_of(session, first.id).kind(kind)[0] for kind in (EntryKind.CAST, EntryKind.CHARGE))
    with pytest.raises(DomainError, match="moved on since"), db.write() as session:
        melts.take_back(session, charge.id, "wrong flask")
    for entry in (cast, charge):
        with db.write() as session:
            melts.take_back(session, entry.id, "wrong flask")
    with pytest.raises(DomainError, match="already"), db.write() as session:
        melts.take_back(session, charge.id, "once more")
    with pytest.raises(InvalidValue, match="say why"), db.write() as session:
        melts.take_back(session, charge.id, " ")


def test_a_customers_own_metal_is_cast_for_its_job_alone(db: Database, first: PlannedFlask) -> None:
    with pytest.raises(InvalidValue, match="own metal of job J126"), db.write() as session:
        melts.charge(session, first.id, {"C01": Mass.g(1)})
    with db.read() as session:
        stored = plans.current_plan(session)
        assert stored is not None
        own = next(f for f in stored.plan.flasks if "J126" in f.contents)
    with pytest.raises(InvalidValue, match="alone"), db.write() as session:
        melts.charge(session, own.id, {"C01": Mass.g(1), "L01": Mass.g(1)})
    _cast(db, own)
    with db.write() as session:
        melts.shelve(session, own.id, melts.books_of(session, own.id).uncleaned)
        back = nouns.find(session, Lot, f"R-{own.id}")
        assert back is not None
        assert back.owner_job == "J126"
    with pytest.raises(InvalidValue, match="never blended"), db.write() as session:
        books.post(session, EntryKind.RETURN, books_moved(session, back.id, "R01"))


def books_moved(session: Session, source: str, target: str) -> tuple[Posting, ...]:
    """One gram from lot to lot."""
    return moved(lot(source), lot(target), books.balance(session, lot(source)).part(Mass.g(1)))


def test_a_repeated_request_gets_the_same_answer(db: Database, first: PlannedFlask) -> None:
    _cast(db, first, key="once")
    with db.write() as session:
        again = melts.weigh_out(session, first.id, {}, Mass(0), key="once")
        assert not again.fresh
        assert again.entry == melts.books_of(session, first.id).kind(EntryKind.CAST)[0].id


def test_a_charge_that_is_sent_twice_is_weighed_in_once(db: Database, first: PlannedFlask) -> None:
    before = _lots(db)
    name = next(iter(_parts(db, first.id)))
    for fresh in (True, False):
        with db.write() as session:
            assert melts.charge(session, first.id, {name: before[name]}, key="sent twice").fresh is fresh
    assert name not in _lots(db) or not _lots(db)[name].base
    with db.read() as session:
        assert books.balance(session, melt(first.id)).mass == before[name]


def test_between_weighing_and_casting_no_charge_is_counted_twice(db: Database, settings: Settings, first: PlannedFlask) -> None:
    """What the crucible holds is off the shelf and out of what is still needed; the evening's stock does not change."""
    parts = _parts(db, first.id)

    def evening() -> dict[str, Mass]:
        with db.read() as session:
            desk = load_desk(session, settings)
            assert not [v for v in check(desk.problem, desk.open_plan) if v.rule == 9]
            positions = metal_week(desk.problem, desk.open_plan).positions
        return {p.key: p.days[-1].closing for p in positions}

    before = evening()
    with db.write() as session:
        melts.charge(session, first.id, parts)
    assert evening() == before
    with db.read() as session:
        desk = load_desk(session, settings)
        assert desk.problem.weighed == {first.id}
        assert first.id in desk.week.pinned
        charges = week_charges(desk.problem, desk.open_plan.flasks)
    assert charges.short == ()
    assert next(c for c in charges.charges if c.flask == first.id) == next(c for c in desk.open_plan.charges if c.flask == first.id)
