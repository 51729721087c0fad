"""What is printed says what was planned, with flask, day, plan and the standing caution on each sheet."""

from __future__ import annotations

import re
from datetime import datetime
from html import unescape

import httpx
import pytest

from domain.planning.plan import Plan
from domain.safety.checklist import STANDING_CAUTION
from webapp.formats import mass, temperature
from webapp.store.engine import Database
from webapp.store.plans import current_plan
from webapp.store.week import load_week

NOW = datetime(2026, 3, 2, 7, 0)


@pytest.fixture(scope="module")
def plan(planned_demo: str) -> Plan:
    db = Database(planned_demo)
    with db.read() as session:
        stored = current_plan(session)
    db.close()
    assert stored is not None
    return stored.plan


def words(html: str) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]*>", " ", html)))


async def test_every_sheet_names_what_it_is_for_its_day_its_plan_and_the_caution(client: httpx.AsyncClient, plan: Plan) -> None:
    flask, load = plan.flasks[0], plan.loads[0]
    sheets = [f"/print/flask/{flask.id}/{kind}" for kind in ("ticket", "charge", "checklist")]
    for address, about in [*((s, flask.id) for s in sheets), (f"/print/load/{load.id}", load.id)]:
        answer = await client.get(address)
        assert answer.status_code == 200, address
        text = words(answer.text)
        assert f'<p class="sheet-about">{about}</p>' in answer.text
        assert "2026" in text
        assert "Plan 1" in text
        assert STANDING_CAUTION in text


async def test_the_charge_sheet_asks_for_each_part_of_the_planned_charge(client: httpx.AsyncClient, plan: Plan) -> None:
    charge = next(c for c in plan.charges if len(c.parts) > 1)
    text = words((await client.get(f"/print/flask/{charge.flask}/charge")).text)
    for part in charge.parts:
        assert words(mass(part.mass)) in text


async def test_the_ticket_lists_every_job_with_its_pieces(client: httpx.AsyncClient, plan: Plan) -> None:
    flask = max(plan.flasks, key=lambda f: len(f.contents))
    html = (await client.get(f"/print/flask/{flask.id}/ticket")).text
    for job, pieces in flask.contents.items():
        assert re.search(rf"<td>{job} [^<]*</td>\s*<td class=\"number\">{pieces}</td>", html), job


async def test_the_program_sheet_lists_the_load_hottest_first(client: httpx.AsyncClient, plan: Plan) -> None:
    load = max(plan.loads, key=lambda one: len(one.flasks))
    html = (await client.get(f"/print/load/{load.id}")).text
    flasks = sorted((f for f in plan.flasks if f.load == load.id), key=lambda f: f.cast_start)
    places = [html.index(f'<td class="flask-names">{f.id}</td>') for f in flasks]
    assert places == sorted(places)
    assert [f.temperature for f in flasks] == sorted((f.temperature for f in flasks), reverse=True)
    assert words(temperature(flasks[0].temperature)) in words(html)


async def test_only_flasks_with_printed_patterns_have_the_points_for_resin(
    client: httpx.AsyncClient, plan: Plan, planned_demo: str
) -> None:
    db = Database(planned_demo)
    with db.read() as session:
        resin = {job.id for job in load_week(session, NOW).jobs if "resin" in job.material}
    db.close()
    with_resin = {f.id for f in plan.flasks if resin & set(f.contents)}
    asked = {f.id for f in plan.flasks if "printed patterns" in (await client.get(f"/print/flask/{f.id}/checklist")).text}
    assert with_resin
    assert asked == with_resin


async def test_the_day_sheet_has_every_cast_of_the_day(client: httpx.AsyncClient, plan: Plan) -> None:
    casts = [f for f in plan.flasks if f.cast_start // 1440 == 1]
    html = (await client.get("/print/day/2026-03-03")).text
    assert casts
    for flask in casts:
        clock = f"{flask.cast_start % 1440 // 60:02d}:{flask.cast_start % 60:02d}"
        assert re.search(rf'{clock}</td>\s*<td class="doing">\s*Cast\s*</td>\s*<td class="flask-names">{flask.id}', html)


@pytest.mark.parametrize("address", ["/print/flask/F999/ticket", "/print/load/L999", "/print/day/monday"])
async def test_what_is_not_planned_is_said_in_words(client: httpx.AsyncClient, address: str) -> None:
    answer = await client.get(address)
    assert 400 <= answer.status_code < 500
    assert "There is no" in words(answer.text) or "is not a day" in words(answer.text)


async def test_a_day_without_work_says_what_to_do(client: httpx.AsyncClient) -> None:
    assert "Nothing is planned for this day" in words((await client.get("/print/day/2026-06-01")).text)
