"""The metal page: needed, there, to order and by when, coming back; powder drawn down."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from html import unescape

import httpx
import pytest
from fastapi import FastAPI

from domain.planning.plan import From
from domain.shop.lots import Powder
from domain.stock.position import metal_week
from domain.units import Mass, Money, total
from domain.week.build import problem_of
from domain.week.week import Week
from webapp.formats import day, mass, money
from webapp.store.engine import Database
from webapp.store.week import load_week
from webapp.views.flask import flask_mix
from webapp.views.metal import order_lines, powder_lines, price


@pytest.fixture
def week(app: FastAPI) -> Week:
    db: Database = app.state.db
    with db.read() as session:
        return load_week(session, app.state.settings.fixed_now)


def words(html: str) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]*>", " ", html)))


async def test_each_order_stands_with_its_last_day_its_packs_and_its_price(client: httpx.AsyncClient, week: Week) -> None:
    assert week.previous is not None
    text = words((await client.get("/metal")).text)
    metals = {m.id: m for m in week.shop.metals}
    assert week.previous.orders
    together = Money(0)
    for order in week.previous.orders:
        metal = metals[order.metal]
        cost = Money(round(metal.price.base * order.mass.base / metal.price_mass.base))
        together = together + cost
        assert order.mass.base % metal.pack.base == 0
        assert order.mass >= order.needed
        assert words(f"{metal.name} {mass(order.mass)} {mass(order.needed)} {money(cost, week.shop.rules.currency)}") in text
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
            assert words(f"{position.name} {mass(position.days[0].opening)} {mass(takes)}") in text


async def test_returns_are_told_by_flask_and_day(client: httpx.AsyncClient, week: Week) -> None:
    assert week.previous is not None
    text = words((await client.get("/metal")).text)
    for back in metal_week(problem_of(week), week.previous).returns:
        assert f"{day(back.back)} {back.flask} " in text
        assert words(mass(back.mass)) in text


async def test_what_is_not_here_yet_is_marked_flask_by_flask(client: httpx.AsyncClient, week: Week) -> None:
    assert week.previous is not None
    page = (await client.get("/metal")).text
    section = page[page.index('id="per-flask"') : page.index('id="back"')]
    waiting = [c.flask for c in week.previous.charges if any(p.origin is From.ORDER for p in c.parts)]
    assert waiting
    for flask in waiting:
        row = section[section.index(f'href="/flask/{flask}"') :]
        assert "to order" in row[: row.index("</tr>")]


def test_powder_is_drawn_down_by_the_flasks_still_to_be_invested(week: Week) -> None:
    assert week.previous is not None
    problem, plan = problem_of(week), week.previous
    mixes = {f.id: mix for f in plan.flasks if (mix := flask_mix(problem, f))}
    everything = {
        line.position.investment: line for line in powder_lines(problem, plan, week.powders, frozenset(), week.now.date())
    }
    needed = total(Mass, (mixes[f.id].powder for f in plan.flasks if f.investment == "gypsum"))
    assert everything["gypsum"].position.needed == needed
    first = plan.flasks[0]
    rest = powder_lines(problem, plan, week.powders, frozenset({first.id}), week.now.date())
    (gypsum,) = [line for line in rest if line.position.investment == "gypsum"]
    assert gypsum.position.needed == needed - mixes[first.id].powder


def test_powder_that_runs_out_has_a_last_day_to_order(week: Week) -> None:
    assert week.previous is not None
    problem, today = problem_of(week), week.now.date()
    scarce = tuple(replace(p, mass=Mass.g(500)) if p.investment == "gypsum" else p for p in week.powders)
    (line,) = [
        one for one in powder_lines(problem, week.previous, scarce, frozenset(), today) if one.position.investment == "gypsum"
    ]
    (powder,) = [p for p in scarce if p.investment == "gypsum"]
    assert line.position.short == line.position.needed - Mass.g(500)
    assert line.position.to_order.base % powder.pack.base == 0
    assert line.order_by is not None
    assert line.order_by >= today
    assert line.cost == price(line.position.to_order, powder.price, powder.price_mass)
    assert isinstance(powder, Powder)


def test_an_order_whose_last_day_has_passed_says_so(week: Week) -> None:
    assert week.previous is not None
    problem = problem_of(week)
    (line, *_) = order_lines(problem, week.previous, date(2026, 12, 1))
    assert line.late
    on_the_day = order_lines(problem, week.previous, date.fromisoformat(week.previous.orders[0].order_by))
    assert any(one.today for one in on_the_day)


async def test_metal_that_has_been_melted_too_often_goes_to_the_refiner(client: httpx.AsyncClient, week: Week) -> None:
    assert week.previous is not None
    spent = metal_week(problem_of(week), week.previous).refiner
    text = words((await client.get("/metal")).text)
    assert ("For the refiner" in text) == bool(spent)
    for lot in spent:
        assert words(f"{lot.name} (lot {lot.id}): {mass(lot.mass)}") in text
