"""The demo's books: some invented weeks before today that lead to exactly what is on the shelf today."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time
from importlib.resources import files
from typing import Any, TypeAlias
from zoneinfo import ZoneInfo

from domain.books.accounts import Account, AccountKind, Reason, lot, melt, returns
from domain.books.entries import EntryKind, gathered, moved
from domain.intake.typed import read_mass
from domain.shop.lots import Lot, Metal, MetalKind
from domain.units import Mass, Money
from domain.week.week import Week
from webapp.actions import melts
from webapp.demo_past import seed_record
from webapp.store import books, nouns, stock
from webapp.store.engine import Session
from webapp.store.stock import Happening
from webapp.store.week import put_shop

Row: TypeAlias = Mapping[str, Any]
BOUGHT_DAY = -26


@dataclass(frozen=True, slots=True)
class _Story:
    """``at``: a moment of a working day, counted from today."""

    session: Session
    week: Week
    day: Callable[[int], date]

    def at(self, day: int, hour: int) -> datetime:
        local = datetime.combine(self.day(day), time(hour), ZoneInfo(self.week.shop.rules.timezone))
        return local.astimezone(UTC)


def seed_books(session: Session, week: Week, day: Callable[[int], date]) -> None:
    """Writes the weeks before into books that are empty; leaves any others as they are. Afterwards every lot
    that is on the shelf holds what the week says."""
    if books.entries(session, newest=1):
        return
    data = tomllib.loads(files("webapp").joinpath("demo_data", "books.toml").read_text(encoding="utf-8"))
    put_shop(session, week.shop)
    story = _Story(session, week, day)
    _empty_lots(story, data)
    for _, act in sorted(_acts(story, data), key=lambda timed: timed[0]):
        act()
    seed_record(session, week.shop, {flask: _floor_of(story, row) for flask, row in _casts(data)})


def _casts(data: Row) -> Iterator[tuple[str, Row]]:
    for values in data["casts"]["rows"]:
        row = dict(zip(data["casts"]["columns"], values, strict=True))
        yield row["flask"], row


def _floor_of(story: _Story, row: Row) -> tuple[str, str, datetime]:
    (job,) = row["pieces"]
    return row["alloy"], job, story.at(row["day"], 0)


def _acts(story: _Story, data: Row) -> Iterator[tuple[datetime, Callable[[], object]]]:
    for row in data["bought"]:
        yield _receipt(story, row["id"], read_mass(row["mass"], None), story.at(BOUGHT_DAY, 9))
    yield from _shelf(story, data["mistakes"])
    yield from _own(story, data["own"])
    for _, row in _casts(data):
        yield from _cast(story, row)


def _receipt(story: _Story, name: str, mass: Mass, at: datetime) -> tuple[datetime, Callable[[], object]]:
    return at, lambda: stock.change_lot(story.session, name, Happening.RECEIPT, mass, at=at)


def _empty_lots(story: _Story, data: Row) -> None:
    metals = {metal.id: metal for metal in story.week.shop.metals}
    alloys = {alloy.id: alloy for alloy in story.week.shop.alloys}
    for known in _here(story.week.lots):
        nouns.add(story.session, replace(known, mass=Mass(0)))
    for row in data["bought"]:
        nouns.add(story.session, _bought(row["id"], metals[row["metal"]]))
    own = data["own"]
    like = next(known for known in story.week.lots if known.owner_job)
    nouns.add(story.session, replace(like, id=own["id"], owner_job=own["owner_job"], mass=Mass(0), alloy=alloys[own["alloy"]].id))


def _here(lots: Iterable[Lot]) -> tuple[Lot, ...]:
    return tuple(known for known in lots if not known.arrives)


def _bought(name: str, metal: Metal) -> Lot:
    return Lot(
        id=name,
        name=metal.name,
        kind=metal.kind,
        composition=metal.composition,
        mass=Mass(0),
        metal=metal.id,
        alloy=metal.alloy,
        cost=Money(round(metal.price.base / metal.price_mass.to("g"))),
    )


def _shelf(story: _Story, mistakes: Row) -> Iterator[tuple[datetime, Callable[[], object]]]:
    """Bought and customers' lots of the week come in; one is typed twice, one is counted."""
    counted, days = mistakes["counted"], {story.day(n).isoformat(): n for n in range(-40, 1)}
    for known in _here(story.week.lots):
        if known.kind is MetalKind.RECYCLED:
            continue
        at = story.at(days[known.since], 9)
        more = read_mass(counted["missing"], None) if known.id == counted["lot"] else Mass(0)
        yield _receipt(story, known.id, known.mass + more, at)
        if known.id == mistakes["received_twice"]:
            yield at.replace(minute=5), lambda known=known, at=at: _typed_twice(story, known, at)  # type: ignore[misc]
        if known.id == counted["lot"]:
            yield _count(story, known, counted)


def _typed_twice(story: _Story, known: Lot, at: datetime) -> None:
    again = stock.change_lot(story.session, known.id, Happening.RECEIPT, known.mass, at=at.replace(minute=5))
    books.take_back(story.session, again.entry, "typed twice", at=at.replace(minute=20))


def _count(story: _Story, known: Lot, row: Row) -> tuple[datetime, Callable[[], object]]:
    at = story.at(row["day"], 16)
    return at, lambda: stock.change_lot(
        story.session, known.id, Happening.COUNT, known.mass, reason=Reason.SPILLAGE, note=row["note"], at=at
    )


def _own(story: _Story, row: Row) -> Iterator[tuple[datetime, Callable[[], object]]]:
    yield _receipt(story, row["id"], read_mass(row["mass"], None), story.at(row["day"], 11))
    back = story.at(row["given_back"], 15)
    yield back, lambda: _give_back(story, row["owner_job"], back)


def _give_back(story: _Story, job: str, at: datetime) -> None:
    """All that is left of a customer's metal."""
    for known in nouns.all_of(story.session, Lot):
        if known.owner_job == job and known.mass.base:
            stock.change_lot(story.session, known.id, Happening.GIVEN_BACK, known.mass, at=at)


def _cast(story: _Story, row: Row) -> Iterator[tuple[datetime, Callable[[], object]]]:
    session, flask = story.session, row["flask"]
    charged, out, clean = story.at(row["day"], 8), story.at(row["day"], 14), story.at(row["day"] + 1, 10)
    yield charged, lambda: _charge(session, row, charged)
    pieces = {job: read_mass(mass, None) for job, mass in row["pieces"].items()}
    yield out, lambda: melts.weigh_out(session, flask, pieces, read_mass(row["back"], None), at=out)
    yield clean, lambda: _clean(story, row, clean)


def _charge(session: Session, row: Row, at: datetime) -> None:
    parts = [(lot(name), books.balance(session, lot(name)).part(read_mass(mass, None))) for name, mass in row["parts"].items()]
    postings = gathered(parts, melt(row["flask"]))
    books.post(session, EntryKind.CHARGE, postings, flask=row["flask"], alloy=row["alloy"], at=at)


def _clean(story: _Story, row: Row, at: datetime) -> None:
    session, flask, mass = story.session, row["flask"], read_mass(row["clean"], None)
    if row["into"] in ("shelf", "refiner"):
        melts.shelve(session, flask, mass, to_refiner=row["into"] == "refiner", at=at)
        return
    there = books.balance(session, returns(flask))
    content = there.part(mass)
    lost = moved(returns(flask), Account(AccountKind.LOSS, flask), there - content)
    postings = (*moved(returns(flask), lot(row["into"]), content), *lost)
    books.post(session, EntryKind.SHELVED, postings, flask=flask, alloy=row["alloy"], at=at)
    stock.reassay(session, row["into"], at=at)
