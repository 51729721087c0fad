"""The metal page: needed, there, to order and by when, coming back; powder drawn down."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from html import unescape
from urllib.parse import unquote

import httpx
import pytest
from fastapi import FastAPI

from domain.planning.plan import From
from domain.stock.position import metal_week
from domain.stock.real_tree import expected_tree
from domain.units import Mass, Money, Share, total
from domain.week.build import problem_of
from domain.week.recharging import counting_on
from domain.week.week import Week
from webapp.actions.recharging import recharge
from webapp.formats import day, mass, money
from webapp.store import nouns
from webapp.store.charges import charges_before
from webapp.store.engine import Database
from webapp.store.week import load_week
from webapp.views.metal import order_lines


@pytest.fixture
def week(app: FastAPI) -> Week:
    db: Database = app.state.db
    with db.read() as session:
        return load_week(session, app.state.settings.fixed_now)


def words(html: str) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]*>", " ", html)))


async def test_each_order_stands_with_its_last_day_its_packs_and_its_price(client: httpx.AsyncClient, week: Week) -> None:
    assert week.previous is not None
    text = words((await client.get("/metal/order")).text)
    metals = {m.id: m for m in week.shop.metals}
    assert week.previous.orders
    together = Money(0)
    for order in week.previous.orders:
        metal = metals[order.metal]
        cost = Money(round(metal.price.base * order.mass.base / metal.price_mass.base))
        together = together + cost
        assert order.mass.base % metal.pack.base == 0
        assert order.mass >= order.needed
        priced = f"{money(metal.price, week.shop.rules.currency)} for {mass(metal.price_mass)}"
        row = f"{metal.name} {mass(order.mass)} {mass(order.needed)} {priced} {money(cost, week.shop.rules.currency)}"
        assert words(row) in text
        assert day(order.order_by) in text
        assert order.order_by < order.arrives
    assert words(f"Together {money(together, week.shop.rules.currency)}") in text


async def test_needed_metal_is_what_the_charges_take(client: httpx.AsyncClient, week: Week) -> None:
    assert week.previous is not None
    problem = problem_of(week)
    positions = metal_week(problem, week.previous).positions
    charged = total(Mass, (part.mass for c in week.previous.charges for part in c.parts))
    needed = total(Mass, (d.charges for p in positions for d in p.days))
    assert needed == charged
    text = words((await client.get("/metal")).text)
    for position in positions:
        takes = total(Mass, (d.charges for d in position.days))
        if takes.base:
            opening = position.days[0].opening
            assert words(f"{position.name} {mass(opening) if opening.base else 'none'} {mass(takes)}") in text


async def test_returns_are_told_by_flask_and_day(client: httpx.AsyncClient, week: Week) -> None:
    assert week.previous is not None
    text = words((await client.get("/metal/back")).text)
    for back in metal_week(problem_of(week), week.previous).returns:
        assert f"{day(back.back)} {back.flask} " in text
        assert words(mass(back.mass)) in text


async def test_what_is_not_here_yet_is_marked_flask_by_flask(client: httpx.AsyncClient, week: Week) -> None:
    assert week.previous is not None
    page = (await client.get("/metal")).text
    section = page[page.index('id="per-flask"') : page.index('id="powder"')]
    waiting = [c.flask for c in week.previous.charges if any(p.origin is From.ORDER for p in c.parts)]
    assert waiting
    for flask in waiting:
        row = section[section.index(f'href="/flask/{flask}"') :]
        assert "to order" in row[: row.index("</tr>")]


def test_an_order_whose_last_day_has_passed_says_so(week: Week) -> None:
    assert week.previous is not None
    problem = problem_of(week)
    (line, *_) = order_lines(problem, week.previous, date(2026, 12, 1))
    assert line.late
    on_the_day = order_lines(problem, week.previous, date.fromisoformat(week.previous.orders[0].order_by))
    assert any(one.today for one in on_the_day)


async def test_metal_that_has_been_melted_too_often_goes_to_the_refiner_by_one_press(client: httpx.AsyncClient, week: Week) -> None:
    assert week.previous is not None
    spent = metal_week(problem_of(week), week.previous).refiner
    assert spent
    text = words((await client.get("/metal/back")).text)
    for lot in spent:
        assert words(f"{lot.name} lot {lot.id} {mass(lot.mass)}") in text
    said = await client.post(f"/metal/back/{spent[0].id}/refiner", data={"key": "k"})
    assert said.status_code == 303
    after = words((await client.get("/metal/back")).text)
    assert f"lot {spent[0].id} {words(mass(spent[0].mass))}" not in after
    assert "Nothing waits for the refiner" not in after
    assert "Nothing waits for the refiner" not in words((await client.get("/metal/refiner")).text)


async def test_what_was_ordered_is_on_its_way_and_nothing_is_ordered_twice(client: httpx.AsyncClient, week: Week) -> None:
    assert week.previous is not None
    (order, *_) = week.previous.orders
    typed = {"mass": mass(order.mass), "arrives": order.arrives, "price": "", "key": "k"}
    assert (await client.post(f"/metal/order/{order.metal}/ordered", data=typed)).status_code == 303
    text = words((await client.get("/metal/order")).text)
    assert "lot" in text.lower()
    assert f"{day(order.order_by)} today" not in text
    assert (await client.post(f"/metal/order/{order.metal}/ordered", data=typed)).status_code == 303
    assert (await client.post("/metal/order/P01/arrived", data={"mass": mass(order.mass), "key": "a"})).status_code == 303


async def test_a_wrong_mass_is_told_beside_the_field_and_kept(client: httpx.AsyncClient, week: Week) -> None:
    assert week.previous is not None
    metal = week.previous.orders[0].metal
    page = await client.post(
        f"/metal/order/{metal}/ordered", data={"mass": "much", "arrives": "2026-12-30", "price": "", "key": ""}
    )
    assert page.status_code == 422
    assert 'value="much"' in page.text


async def test_a_real_tree_changes_the_charge_and_the_old_one_stays(client: httpx.AsyncClient, week: Week) -> None:
    assert week.previous is not None
    problem = problem_of(week)
    flask = max(week.previous.flasks, key=lambda f: f.cast_start)
    heavier = expected_tree(problem, flask).times(1.05)
    sent = await client.post(f"/metal/charge/{flask.id}/tree", data={"gross": mass(heavier), "base": "", "key": "t"})
    assert sent.status_code == 303
    text = words((await client.get(f"/metal/charge/{flask.id}")).text)
    assert "the real tree weighs" in text
    assert words(mass(flask.charge)) in text


async def test_prices_from_a_list_are_taken_and_what_is_wrong_is_told(client: httpx.AsyncClient) -> None:
    rows = "metal,price,per\nFine gold,3110.35,ozt\nMoon dust,1,g\n"
    page = await client.post("/metal/prices/list", files={"file": ("prices.csv", rows.encode())})
    assert "Moon dust" in page.text
    assert 'value="3110.35"' in (await client.get("/metal/prices")).text


async def test_every_page_and_print_opens(client: httpx.AsyncClient) -> None:
    for address in ("", "/loss", "/order/draft", "/order.csv", "/refiner", "/prices"):
        assert (await client.get(f"/metal{address}")).status_code == 200


async def test_a_lot_that_is_less_fine_than_it_was_thought_changes_the_charges_that_take_it(app: FastAPI, week: Week) -> None:
    assert week.previous is not None
    gold = next(lot for lot in week.lots if lot.metal == "fine-gold" and not lot.arrives)
    takers = {c.flask for c in week.previous.charges if any(p.ref == gold.id for p in c.parts)}
    assert takers
    with app.state.db.write() as session:
        nouns.put(session, replace(gold, composition={"Au": Share.percent(97), "Ag": Share.percent(3)}))
        again = recharge(session, app.state.settings, "assayed")
        kept = charges_before(session, next(iter(takers)))
    assert takers <= set(again.changed) | {s.flask for s in again.short}
    assert kept[0].reason == "assayed"


def test_less_came_back_than_charges_count_on(week: Week) -> None:
    assert week.previous is not None
    parts = [(c.flask, p) for c in week.previous.charges for p in c.parts if p.origin is From.RETURNS]
    assert parts
    flask, part = parts[0]
    assert flask in counting_on(week.previous, {part.ref: Mass(0)})
    assert counting_on(week.previous, {part.ref: Mass.g(1_000)}) == ()


async def test_the_metal_of_the_week_is_told_in_the_readers_language(client: httpx.AsyncClient, week: Week) -> None:
    assert week.previous is not None
    order = week.previous.orders[0]
    await client.post("/who/units", data={"language": "Deutsch"})
    text = words((await client.get("/metal")).text)
    assert "Was muss ich heute bestellen?" in text
    assert f"{order.mass.decimal('g', 2)}".replace(".", ",") in text
    assert "Silver 925, Rücklauf" in text
    typed = {"mass": "0", "arrives": "2026-03-09", "price": "", "key": "de"}
    refused = await client.post(f"/metal/order/{order.metal}/ordered", data=typed)
    assert (refused.status_code, "bestellt wird mehr als nichts" in refused.text) == (422, True)
    typed = {"mass": "100", "arrives": "2026-03-09", "price": "", "key": "de"}
    placed = await client.post(f"/metal/order/{order.metal}/ordered", data=typed)
    assert placed.status_code == 303
    assert "ist als Charge" in unquote(placed.cookies["said"])
