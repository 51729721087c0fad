"""Metal that is ordered: placed, counted on, and in the books only when it is here."""

from __future__ import annotations

import re
from datetime import date, timedelta
from html import unescape

import httpx
import pytest
from fastapi import FastAPI

from domain.books.accounts import Account, AccountKind, lot
from domain.planning.plan import From, MetalOrder
from domain.shop.lots import Lot
from domain.stock.position import metal_week
from domain.units import Mass
from domain.week.build import problem_of
from domain.week.week import Week
from webapp.formats import day, local, mass
from webapp.steady import utc_now
from webapp.store import books, metal_orders, nouns
from webapp.store.books_check import broken
from webapp.store.engine import Database
from webapp.store.metal_orders import OrderState
from webapp.store.week import load_week


def words(html: str) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]*>", " ", html)))


def _week(app: FastAPI) -> Week:
    db: Database = app.state.db
    with db.read() as session:
        return load_week(session, app.state.settings.fixed_now)


@pytest.fixture
def order(app: FastAPI) -> MetalOrder:
    plan = _week(app).previous
    assert plan is not None
    return plan.orders[0]


async def _place(client: httpx.AsyncClient, order: MetalOrder, **changed: str) -> None:
    typed = {"mass": mass(order.mass), "arrives": order.arrives, "price": "", "key": "o"} | changed
    assert (await client.post(f"/metal/order/{order.metal}/ordered", data=typed)).status_code == 303


def _entries(db: Database) -> int:
    with db.read() as session:
        assert broken(session) == ()
        return len(books.entries(session, newest=None))


async def test_a_placed_order_is_counted_on_and_booked_nowhere(app: FastAPI, client: httpx.AsyncClient, order: MetalOrder) -> None:
    db, before = app.state.db, _entries(app.state.db)
    await _place(client, order)
    assert _entries(db) == before
    week = _week(app)
    coming = next(one for one in week.lots if one.id == "P01")
    assert (coming.mass, coming.arrives) == (order.mass, order.arrives)
    plan = week.previous
    assert plan is not None
    assert any(p.origin is From.LOT and p.ref == "P01" for c in plan.charges for p in c.parts)
    position = next(p for p in metal_week(problem_of(week), plan).positions if p.key == order.metal)
    assert next(d for d in position.days if d.date == order.arrives).deliveries >= order.mass
    page = words((await client.get("/metal/order")).text)
    assert "P01" in page.partition("Placed, on its way")[2]
    account = words((await client.get("/books/account/lot/P01")).text)
    assert words(f"Holds {mass(Mass(0), 'g', 3)} On its way: {mass(order.mass)}") in account


async def test_metal_that_is_not_here_is_not_weighed_or_moved(client: httpx.AsyncClient, order: MetalOrder) -> None:
    await _place(client, order)
    answer = await client.post("/shop/lots/P01/move", data={"kind": "issue", "mass": "1 g", "key": "m"})
    assert answer.status_code == 422
    assert "this delivery is on its way" in answer.text


async def test_what_arrives_is_booked_as_it_was_weighed_and_the_rest_stays_on_its_way(
    app: FastAPI, client: httpx.AsyncClient, order: MetalOrder
) -> None:
    db: Database = app.state.db
    await _place(client, order)
    before = _entries(db)
    came = order.mass - Mass.g(1)
    later = (date.fromisoformat(order.arrives) + timedelta(days=1)).isoformat()
    typed = {"mass": mass(came), "rest": later, "key": "a"}
    for _ in range(2):  # sent twice, booked once
        assert (await client.post("/metal/order/P01/arrived", data=typed)).status_code == 303
    assert _entries(db) == before + 1
    with db.read() as session:
        assert books.balance(session, lot("P01")).mass == came
        (entry,) = books.entries(session, account=lot("P01"))
        assert entry.of(Account(AccountKind.SUPPLIER, order.metal)) == -came
        rest = nouns.find(session, Lot, "P02")
        assert rest is not None
        assert (rest.mass, rest.arrives) == (Mass.g(1), later)
        states = {one.lot: (one.state, one.came) for one in metal_orders.orders(session)}
    assert states == {"P01": (OrderState.IN_PART, came), "P02": (OrderState.PLACED, Mass(0))}
    assert words(f"arrived in part, {_today(app)}: {mass(came)} in lot P01") in words((await client.get("/metal/order")).text)


def _today(app: FastAPI) -> str:
    return day(local(utc_now(), _week(app).shop.rules.timezone).date())


async def test_more_than_was_ordered_may_come_and_nothing_is_missing_then(client: httpx.AsyncClient, order: MetalOrder) -> None:
    await _place(client, order)
    more = mass(order.mass + Mass.g(1))
    refused = await client.post("/metal/order/P01/arrived", data={"mass": more, "rest": order.arrives, "key": "a"})
    assert refused.status_code == 422
    assert "nothing is missing of this order" in refused.text
    assert (await client.post("/metal/order/P01/arrived", data={"mass": more, "rest": "", "key": "a"})).status_code == 303


async def test_a_cancelled_order_leaves_no_entry_and_is_ordered_anew(
    app: FastAPI, client: httpx.AsyncClient, order: MetalOrder
) -> None:
    db, before = app.state.db, _entries(app.state.db)
    await _place(client, order)
    assert (await client.post("/metal/order/P01/cancel")).status_code == 303
    assert (await client.post("/metal/order/P01/cancel")).status_code == 422
    assert _entries(db) == before
    plan = _week(app).previous
    assert plan is not None
    assert order.metal in {o.metal for o in plan.orders}
    assert "cancelled" in (await client.get("/metal/order")).text
