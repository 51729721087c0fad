"""Powder and consumables: used when a stage is recorded, counted, ordered, received."""

from __future__ import annotations

import re
from html import unescape

import httpx
import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from domain.books.accounts import Account, AccountKind
from domain.shop.consumables import Amount, Consumable, UsedPer
from domain.shop.lots import Powder
from domain.stock.consumed import POWDER, Key, flask_powder
from domain.units import Mass, total
from webapp.actions import supplies as actions
from webapp.actions.planning import load_desk
from webapp.settings import Settings
from webapp.store import books, nouns, supplies
from webapp.store.books_check import broken
from webapp.store.engine import Database
from webapp.store.flasks import Stage
from webapp.views.flask import flask_mix


def words(html: str) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]*>", " ", html)))


def left(db: Database, thing: str) -> Amount:
    """What is on the shelf, and the same by its entries."""
    with db.read() as session:
        found = nouns.find(session, Consumable, thing)
        assert found is not None
        assert total(Amount, (m.amount for m in supplies.moves(session, thing, newest=1000))) == found.amount
        return found.amount


def powder(db: Database) -> Mass:
    with db.read() as session:
        found = nouns.find(session, Powder, "gypsum")
        assert found is not None
        assert broken(session) == ()
        return found.mass


def record(db: Database, settings: Settings, flask: str, stage: Stage) -> None:
    with db.write() as session:
        actions.used(session, load_desk(session, settings), flask, stage)


def first(db: Database, settings: Settings) -> str:
    with db.read() as session:
        plan = load_desk(session, settings).open_plan
    return next(f.id for f in plan.flasks if f.investment == "gypsum")


def test_investing_a_flask_takes_its_mix_and_what_each_flask_uses_once(db: Database, settings: Settings) -> None:
    flask, before, gloves, flux = first(db, settings), powder(db), left(db, "gloves"), left(db, "flux")
    with db.read() as session:
        desk = load_desk(session, settings)
        planned = desk.open_plan.flask(flask)
        assert planned is not None
        mix = flask_mix(desk.problem, planned)
        assert mix is not None
        assert flask_powder(desk.problem, planned) == mix.powder
    record(db, settings, flask, Stage.INVESTED)
    record(db, settings, flask, Stage.INVESTED)
    assert before - powder(db) == mix.powder
    assert (gloves - left(db, "gloves"), flux - left(db, "flux")) == (Amount(2_000), Amount(0))
    with db.read() as session:
        assert books.balance(session, Account(AccountKind.MOULD, flask)).mass == mix.powder


def test_taking_it_back_counters_what_was_used_and_it_may_be_used_again(db: Database, settings: Settings) -> None:
    flask, before, gloves = first(db, settings), powder(db), left(db, "gloves")
    for _ in range(2):
        record(db, settings, flask, Stage.INVESTED)
        with db.write() as session:
            actions.not_used(session, flask, Stage.INVESTED)
        assert (powder(db), left(db, "gloves")) == (before, gloves)
    with db.read() as session:
        assert len(supplies.moves(session, "gloves", flask=flask)) == 4


def test_a_kiln_load_uses_its_paper_once_whichever_flask_is_marked(db: Database, settings: Settings) -> None:
    with db.read() as session:
        load = max(load_desk(session, settings).open_plan.loads, key=lambda k: len(k.flasks))
    assert len(load.flasks) > 1
    before = left(db, "kiln-paper")
    for flask in load.flasks:
        record(db, settings, flask, Stage.STARTED)
    assert before - left(db, "kiln-paper") == Amount(2_000)


def test_what_the_books_do_not_hold_is_not_taken_below_nothing(db: Database, settings: Settings) -> None:
    flask = first(db, settings)
    with db.write() as session:
        supplies.move(session, "gloves", supplies.SupplyMove.COUNTED, Amount(500) - left(db, "gloves"), other="missing")
    record(db, settings, flask, Stage.INVESTED)
    assert left(db, "gloves") == Amount(0)
    with db.read() as session:
        (used,) = supplies.used_for(session, [flask])[:1]
        assert {m.note for m in supplies.moves(session, "gloves", flask=flask)} == {
            "the books held less than the 2\N{NARROW NO-BREAK SPACE}pieces used; count it"
        }
    assert used.per is UsedPer.FLASK


def test_entries_are_never_changed(db: Database) -> None:
    for statement in ("UPDATE supply_entry SET amount = 1", "DELETE FROM supply_entry"):
        with pytest.raises(DBAPIError, match="append-only"), db.write() as session:
            session.connection().execute(text(statement))


async def test_an_order_is_a_delivery_on_its_way_and_on_the_shelf_when_it_is_here(
    client: httpx.AsyncClient, db: Database, settings: Settings
) -> None:
    before = powder(db)
    data = {"amount": "40 kg", "arrives": settings.now("UTC").date().isoformat(), "key": "once"}
    for _ in range(2):
        assert (await client.post("/metal/consumables/powder/gypsum/ordered", data=data)).status_code == 303
    assert powder(db) == before
    with db.read() as session:
        (one,) = supplies.waiting(session)
        position = next(p for p in actions.positions(session, load_desk(session, settings)) if p.shelf.key == Key(POWDER, "gypsum"))
    assert position.coming == Amount(40_000_000)
    short = await client.post(f"/metal/consumables/deliveries/{one.id}/arrived", data={"amount": "many"})
    assert short.status_code == 422
    assert f'id="came-{one.id}-error"' in short.text
    assert (await client.post(f"/metal/consumables/deliveries/{one.id}/arrived", data={"amount": "38 kg"})).status_code == 303
    assert powder(db) - before == Mass.of(38, "kg")
    again = await client.post(f"/metal/consumables/deliveries/{one.id}/arrived", data={"amount": "38 kg"})
    assert again.status_code == 422
    assert powder(db) - before == Mass.of(38, "kg")


async def test_an_order_that_does_not_come_books_nothing(client: httpx.AsyncClient, db: Database, settings: Settings) -> None:
    before = left(db, "flux")
    data = {"amount": "250", "arrives": settings.now("UTC").date().isoformat(), "price": "6.50"}
    await client.post("/metal/consumables/consumable/flux/ordered", data=data)
    with db.read() as session:
        (one,) = supplies.waiting(session)
    assert (await client.post(f"/metal/consumables/deliveries/{one.id}/take-back")).status_code == 303
    assert left(db, "flux") == before
    with db.read() as session:
        assert supplies.waiting(session) == ()


async def test_errors_of_an_order_stand_beside_their_field(client: httpx.AsyncClient) -> None:
    for data, field in (({"amount": "0", "arrives": "2026-03-09"}, "amount"), ({"amount": "5", "arrives": "soon"}, "arrives")):
        answer = await client.post("/metal/consumables/consumable/flux/ordered", data=data)
        assert answer.status_code == 422
        assert f'id="{field}-consumable-flux-error"' in answer.text
        assert f'value="{data["amount"]}"' in answer.text


async def test_page_file_and_draft_tell_the_same_order(client: httpx.AsyncClient, db: Database, settings: Settings) -> None:
    with db.read() as session:
        ordered = [p for p in actions.positions(session, load_desk(session, settings)) if p.order.base]
    assert ordered
    page, draft = words((await client.get("/metal/consumables")).text), words((await client.get("/metal/consumables/draft")).text)
    rows = (await client.get("/metal/consumables/list.csv")).text.splitlines()
    for one in ordered:
        assert one.shelf.name in page
        assert one.shelf.name in draft
        assert one.order.base % one.shelf.pack.base == 0
        assert any(row.startswith(f"{one.order_by},{one.shelf.name},{one.shelf.unit},") for row in rows)


async def test_a_consumable_is_counted_with_a_reason(client: httpx.AsyncClient, db: Database) -> None:
    wrong = await client.post("/shop/consumables/flux/move", data={"kind": "issue", "mass": "9999"})
    assert wrong.status_code == 422
    assert "are left, not" in wrong.text
    counted = {"kind": "count", "mass": "150.5", "reason": "missing, not explained", "key": "c"}
    for _ in range(2):
        assert (await client.post("/shop/consumables/flux/move", data=counted)).status_code == 303
    assert left(db, "flux") == Amount(150_500)
    assert "missing, not explained" in (await client.get("/shop/consumables/flux")).text
