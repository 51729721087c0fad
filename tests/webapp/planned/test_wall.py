"""The week for the wall says of every flask when it is invested and cast, of every job when it is due, and fits its page."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import httpx
import pytest
from fastapi import FastAPI

from domain.planning.plan import Plan
from domain.planning.problem import Problem
from webapp.actions.planning import load_desk
from webapp.views.wall import STEPS, Entry, Wall, WallDay, monday_of, wall_of

pytestmark = pytest.mark.anyio


@pytest.fixture
def planned(app: FastAPI) -> tuple[Problem, Plan]:
    with app.state.db.read() as session:
        desk = load_desk(session, app.state.settings)
    assert desk.plan is not None
    return desk.problem, desk.plan


def entries(wall: Wall, part: str) -> list[tuple[date, Entry]]:
    return [(one.day, entry) for one in wall.days for name, lines in one.parts if name == part for entry in lines]


async def test_every_flask_of_the_week_is_invested_and_cast_once_at_its_time(planned: tuple[Problem, Plan]) -> None:
    problem, plan = planned
    clock = problem.clock
    for monday in {monday_of(clock.day_of(f.cast_start)) for f in plan.flasks}:
        wall = wall_of(problem, plan, monday + timedelta(days=3))
        for part, minute in (("Invest", "invest_start"), ("Cast", "cast_start")):
            wanted = {
                (clock.day_of(at), f"{clock.local(at):%H:%M}", f.id)
                for f in plan.flasks
                if monday_of(clock.day_of(at := getattr(f, minute))) == monday
            }
            found = [(day, entry.at, entry.name) for day, entry in entries(wall, part)]
            assert len(found) == len(wanted)
            assert set(found) == wanted
        for _, entry in entries(wall, "Cast"):
            flask = plan.flask(entry.name)
            assert flask is not None
            assert entry.under.startswith(problem.machine[flask.machine].name)
            assert all(p.name in entry.under for p in problem.shop.people if p.id in flask.people)


async def test_what_is_late_or_overdue_is_said_beside_its_due_day(planned: tuple[Problem, Plan]) -> None:
    problem, plan = planned
    job = problem.jobs[0]
    monday = monday_of(problem.clock.first_day)
    bare = replace(plan, flasks=(), loads=())
    unplanned = replace(problem, jobs=(replace(job, due=(monday + timedelta(days=1)).isoformat()),))
    [(day, entry)] = entries(wall_of(unplanned, bare, monday), "Due")
    assert (day, entry.name) == (monday + timedelta(days=1), job.id)
    assert entry.rest.endswith("NOT PLANNED")
    overdue = replace(problem, jobs=(replace(job, due=(monday - timedelta(days=3)).isoformat()),))
    [(day, entry)] = entries(wall_of(overdue, bare, monday), "Due")
    assert day == monday
    assert "NOT PLANNED, was due" in entry.rest


async def test_a_fuller_week_is_set_in_smaller_type(planned: tuple[Problem, Plan]) -> None:
    problem, plan = planned
    nearly_empty = wall_of(problem, replace(plan, flasks=plan.flasks[:1], loads=()), problem.clock.first_day)
    many = tuple(
        replace(f, id=f"{f.id}{n}", invest_start=f.invest_start + n, cast_start=f.cast_start + n)
        for f in plan.flasks
        for n in range(1, 9)
    )
    full = wall_of(problem, replace(plan, flasks=many), problem.clock.first_day)
    usual = wall_of(problem, plan, problem.clock.first_day)
    assert STEPS[0] >= nearly_empty.step > usual.step > full.step == STEPS[-1]


def test_lines_are_counted_as_they_are_broken() -> None:
    one = Entry("08:00", "F1", "a b c", "Machine, Ann")
    assert WallDay(day=date(2026, 3, 2), parts=(("Cast", (one, one)),)).lines(40) == 4  # heading, machine, two casts


async def test_the_page_names_the_week_and_leads_to_the_others(client: httpx.AsyncClient) -> None:
    assert 'href="/print/week/today"' in (await client.get("/week")).text
    page = (await client.get("/print/week/2026-03-04")).text
    assert "Week 10" in page
    far = (await client.get("/print/week/2027-06-01")).text
    assert 'href="/print/week/2026-03-02"' in far
    assert (await client.get("/print/week/soon")).status_code == 422
