"""Today's queue: the clock's order, what is next, what is done, what an empty day says."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from html import unescape

import httpx
from databases import NewDatabase
from fastapi import FastAPI

from domain.planning.problem import Problem
from webapp.app import create_app
from webapp.formats import clock, mass, temperature
from webapp.pages import resource_folder
from webapp.store.engine import Database
from webapp.store.flasks import happened
from webapp.store.plans import StoredPlan, current_plan
from webapp.views.today import Doing, queue

ORIGIN = "http://localhost:8765"


def stored(db: Database) -> StoredPlan:
    with db.read() as session:
        plan = current_plan(session)
    assert plan is not None
    return plan


def words(html: str) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]*>", " ", html)))


def casting_day(plan: StoredPlan) -> date:
    return plan.clock.day_of(min(f.cast_start for f in plan.plan.flasks))


def test_the_queue_follows_the_clock_and_weighing_comes_before_the_first_cast(problem: Problem, db: Database) -> None:
    plan = stored(db)
    day = casting_day(plan)
    tasks = queue(problem, plan.plan, day, {}, plan.clock.local(0).replace(tzinfo=None))
    assert [t.at for t in tasks] == sorted(t.at for t in tasks)
    cast_today = {f.id for f in plan.plan.flasks if plan.clock.day_of(f.cast_start) == day}
    assert {t.flask.id for t in tasks if t.doing is Doing.CAST} == cast_today
    for load in plan.plan.loads:
        order = [t.doing for t in tasks if t.doing in (Doing.WEIGH, Doing.CAST) and t.flask.load == load.id]
        assert order == sorted(order, key=[Doing.WEIGH, Doing.CAST].index)


def test_a_quench_waits_as_long_as_the_alloy_asks(problem: Problem, db: Database) -> None:
    plan = stored(db)
    tasks = queue(problem, plan.plan, casting_day(plan), {}, plan.clock.local(0).replace(tzinfo=None))
    quenches = [t for t in tasks if t.doing is Doing.QUENCH]
    assert quenches
    for task in quenches:
        poured = plan.clock.local(task.flask.cast_end).replace(tzinfo=None)
        assert task.at == poured + timedelta(minutes=problem.melt[task.flask.melt].alloy.cooling.wait_minutes)


def test_the_next_task_is_the_first_that_may_be_done_now(problem: Problem, db: Database) -> None:
    plan = stored(db)
    day = plan.clock.day_of(min(f.invest_start for f in plan.plan.flasks))
    start = plan.clock.local(0).replace(tzinfo=None)
    first = next(t for t in queue(problem, plan.plan, day, {}, start) if t.next)
    assert first.doing is Doing.INVEST
    done = {first.flask.id: "invested"}
    second = next(t for t in queue(problem, plan.plan, day, done, start) if t.next)
    assert second.flask.id != first.flask.id or second.doing is not Doing.INVEST


def test_a_load_waits_for_the_last_of_its_flasks_and_late_work_is_marked(problem: Problem, db: Database) -> None:
    plan = stored(db)
    load = next(one for one in plan.plan.loads if len(one.flasks) > 1)
    day = plan.clock.day_of(load.load_at)
    all_but_one = dict.fromkeys(load.flasks[1:], "invested")
    later = plan.clock.local(load.load_at).replace(tzinfo=None) + timedelta(minutes=1)
    (task,) = [t for t in queue(problem, plan.plan, day, all_but_one, later) if t.doing is Doing.LOAD and t.load == load]
    assert task.waits == f"{load.flasks[0]} not yet invested"
    assert task.late
    everything = dict.fromkeys(load.flasks, "loaded")
    (task,) = [t for t in queue(problem, plan.plan, day, everything, later) if t.doing is Doing.LOAD and t.load == load]
    assert task.done
    assert not task.late


async def test_the_page_shows_clock_time_charge_and_temperature_of_every_cast(client: httpx.AsyncClient, db: Database) -> None:
    plan = stored(db)
    day = casting_day(plan)
    text = words((await client.get(f"/today?day={day.isoformat()}")).text)
    for flask in plan.plan.flasks:
        if plan.clock.day_of(flask.cast_start) != day:
            continue
        assert f"Cast {flask.id} at {clock(plan.clock.local(flask.cast_start))}" in text
        assert words(mass(flask.charge)) in text
        assert f"flask at {words(temperature(flask.temperature))}" in text
        assert f"Weigh the charge of {flask.id}" in text


async def test_done_is_recorded_once_and_can_be_undone(client: httpx.AsyncClient, db: Database) -> None:
    plan = stored(db)
    flask = min(plan.plan.flasks, key=lambda f: f.invest_start)
    day = plan.clock.day_of(flask.invest_start).isoformat()
    form = {"flasks": flask.id, "stage": "invested", "day": day, "key": "k"}
    for _ in range(2):
        answer = await client.post("/today/done", data=form)
        assert (answer.status_code, answer.headers["location"]) == (303, f"/today?day={day}")
    with db.read() as session:
        assert [event.stage for event in happened(session)[flask.id]] == ["invested"]
    page = (await client.get(f"/today?day={day}")).text
    task = page[page.index(f'id="invest-{flask.id}"') :]
    assert "✓ done" in task[: task.index("</li>")]
    await client.post("/today/undo", data={**form, "key": "back"})
    with db.read() as session:
        assert flask.id not in happened(session)


async def test_a_kiln_load_is_marked_for_all_its_flasks_together(client: httpx.AsyncClient, db: Database) -> None:
    load = next(one for one in stored(db).plan.loads if len(one.flasks) > 1)
    names = ",".join(load.flasks)
    refused = await client.post("/today/done", data={"flasks": names, "stage": "loaded", "key": "x"})
    assert refused.status_code == 422
    with db.read() as session:
        assert not happened(session).keys() & set(load.flasks)
    for stage in ("invested", "loaded", "started"):
        assert (await client.post("/today/done", data={"flasks": names, "stage": stage, "key": stage})).status_code == 303
    with db.read() as session:
        told = happened(session)
    assert {str(told[flask][-1].stage) for flask in load.flasks} == {"started"}


async def test_a_day_with_nothing_to_do_says_why_and_what_comes_next(client: httpx.AsyncClient, db: Database) -> None:
    plan = stored(db)
    last = plan.clock.day_of(max(f.knockout_end for f in plan.plan.flasks))
    text = words((await client.get(f"/today?day={(last + timedelta(days=30)).isoformat()}")).text)
    assert "The plan has nothing to do on this day. Everything in it is done earlier." in text
    assert "Look at the week" in text
    assert (await client.get("/today?day=someday")).status_code == 422


async def test_without_a_plan_it_sends_people_to_plan(app: FastAPI, opened: str, new_database: NewDatabase) -> None:
    bare = create_app(replace(app.state.settings, database_url=new_database(opened), demo=False))
    transport = httpx.ASGITransport(app=bare)
    async with httpx.AsyncClient(transport=transport, base_url=ORIGIN) as client:
        today = words((await client.get("/today")).text)
        week = words((await client.get("/week")).text)
        metal = words((await client.get("/metal")).text)
    bare.state.db.close()
    assert "There is no plan yet, so there is no queue." in today
    assert "Add jobs first" in today
    assert "There are no jobs yet" in week
    assert "There is no plan yet, so nobody knows what metal is needed." in metal
    assert "No metal is on the shelf" in metal


def test_buttons_in_the_queue_are_sixty_pixels_high() -> None:
    css = (resource_folder("static") / "drawings.css").read_text(encoding="utf-8")
    assert re.search(r"\.queue button, \.queue \.button, \.days \.button \{ min-height: 60px", css)
