"""The week's page: the plan's own numbers, what is late first, planning through the runner."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from dataclasses import replace
from html import unescape
from re import search, sub

import httpx
import pytest
from databases import NewDatabase, rows_of
from fastapi import FastAPI

from domain.planning.check import check
from domain.planning.clock import Clock
from domain.planning.measure import days_late
from domain.shop.burnout import Kiln
from domain.shop.jobs import Job
from domain.week.build import problem_of
from webapp.actions.planning import SHOP, by_hand_levels, keep_plan
from webapp.app import create_app
from webapp.formats import mass, moment, temperature
from webapp.settings import Settings
from webapp.solving.messages import Answer, Ask
from webapp.solving.runner import Keep, Phase, SolveState
from webapp.store import flasks, nouns
from webapp.store.engine import Database
from webapp.store.flasks import Stage
from webapp.store.plans import StoredPlan, current_plan, moved
from webapp.store.week import load_week

ORIGIN = "http://localhost:8765"


def stored(db: Database) -> StoredPlan:
    with db.read() as session:
        plan = current_plan(session)
    assert plan is not None
    return plan


def words(html: str) -> str:
    return sub(r"\s+", " ", unescape(sub(r"<[^>]*>", " ", html)))


async def waited(app: FastAPI, seconds: float = 60) -> SolveState:
    state: SolveState = await asyncio.to_thread(app.state.runner.wait, SHOP, seconds)
    return state


async def test_every_flask_stands_with_its_cast_temperature_charge_and_load(client: httpx.AsyncClient, db: Database) -> None:
    plan = stored(db)
    text = words((await client.get("/week")).text)
    for flask in plan.plan.flasks:
        assert words(mass(flask.charge)) in text
        assert words(temperature(flask.temperature)) in text
        assert f" {flask.id} " in text
        assert moment(plan.clock.local(flask.invest_start)) in text
    for load in plan.plan.loads:
        assert moment(plan.clock.local(load.start)) in text


async def test_what_is_late_or_left_out_comes_before_the_flasks(client: httpx.AsyncClient, app: FastAPI, db: Database) -> None:
    with db.read() as session:
        week = load_week(session, app.state.settings.fixed_now)
    problem, plan = problem_of(week), stored(db).plan
    page = (await client.get("/week")).text
    start = page.index('id="flasks"')
    late = days_late(problem, plan)
    assert set(late) == {"J144", "J145"}
    for job, days in late.items():
        assert page.index(problem.job[job].name) < start
        assert f"{days} day" in words(page[:start])
    (out,) = plan.left_out
    assert out.job == "J146"
    text = words(page[:start])
    assert words(out.reason) in text
    assert words(out.remedy) in text


async def test_the_levels_of_the_plan_are_shown_with_their_units(client: httpx.AsyncClient, db: Database) -> None:
    page = (await client.get("/week")).text
    text = words(page[page.index('id="levels"') :])
    levels = {level.name: level.value for level in stored(db).plan.levels}
    assert f"Flasks and kiln loads {levels['flasks and loads']} cost points" in text
    assert f"Days late {levels['weighted days late']} days × weight" in text
    assert f"Crucible changes {levels['crucible changes']} changes" in text


async def test_the_time_axis_names_every_load_and_has_title_and_description(client: httpx.AsyncClient, db: Database) -> None:
    page = (await client.get("/week")).text
    svg = page[page.index('<svg class="axis"') : page.index("</svg>")]
    assert "<title" in svg
    assert "<desc" in svg
    for load in stored(db).plan.loads:
        assert f"kiln load {load.id}, {len(load.flasks)} flask" in svg


async def test_planning_makes_a_checked_plan_and_says_what_it_reached(
    client: httpx.AsyncClient, app: FastAPI, db: Database
) -> None:
    before = stored(db)
    answer = await client.post("/week/plan", data={"seconds": "5"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/week#planning")
    again = await client.post("/week/plan", data={"seconds": "5"})
    assert again.status_code == 422
    assert "being planned already" in again.text
    busy = (await client.get("/week")).text
    assert "Planning the week" in busy
    assert "Stop and keep the best plan" in busy
    assert '<noscript><a class="button" href="/week#planning">Look again</a></noscript>' in busy
    state = await waited(app)
    after = stored(db)
    assert (state.phase, state.version) == (Phase.DONE, after.version)
    assert after.version == before.version + 1
    with db.read() as session:
        week = load_week(session, app.state.settings.fixed_now)
    assert check(problem_of(replace(week, previous=before.plan)), after.plan) == ()
    text = words((await client.get("/week")).text)
    assert f"Plan {after.version} is ready." in text
    by_hand = by_hand_levels(after.note)["flasks and loads"]
    (level,) = [one for one in after.plan.levels if one.name == "flasks and loads"]
    assert level.bound
    assert level.value <= by_hand
    assert f"Flasks and kiln loads {level.value} cost points {level.bound} cost points" in text
    how = (
        "proven best"
        if level.proven
        else f"at most {-(-100 * (level.value - level.bound) // level.bound)} % above the best possible"
    )
    assert f"{how} {by_hand} cost points" in text


async def test_stopping_keeps_the_best_plan_so_far(client: httpx.AsyncClient, app: FastAPI, db: Database) -> None:
    before = stored(db).version
    await client.post("/week/plan", data={"seconds": "120"})
    for _ in range(400):
        part = await client.get("/week/solve", headers={"HX-Request": "true"})
        if "Best so far" in part.text:
            break
        await asyncio.sleep(0.1)
    assert "flask" in words(part.text)
    await client.post("/week/stop")
    state = await waited(app)
    assert state.phase is Phase.DONE
    assert "until planning was stopped" in state.message
    assert stored(db).version == before + 1


async def test_when_the_run_is_over_htmx_is_sent_to_the_whole_page(client: httpx.AsyncClient) -> None:
    answer = await client.get("/week/solve", headers={"HX-Request": "true"})
    assert answer.headers["HX-Redirect"] == "/week"
    plain = await client.get("/week/solve")
    assert (plain.status_code, plain.headers["location"]) == (303, "/week")


@pytest.mark.parametrize(("typed", "words"), [("soon", "not a number"), ("1", "2 to 600 seconds"), ("601", "2 to 600 seconds")])
async def test_a_wrong_time_limit_stands_beside_its_field_as_typed(client: httpx.AsyncClient, typed: str, words: str) -> None:
    answer = await client.post("/week/plan", data={"seconds": typed})
    assert answer.status_code == 422
    assert words in answer.text
    assert f'value="{typed}"' in answer.text


async def test_a_pinned_flask_survives_a_new_plan_as_it_was(client: httpx.AsyncClient, app: FastAPI, db: Database) -> None:
    pinned, begun = stored(db).plan.flasks[-1], stored(db).plan.flasks[0]
    await client.post(f"/flask/{pinned.id}/pin", data={"reason": "the customer watches"})
    await client.post(f"/flask/{begun.id}/stage", data={"stage": "invested", "key": "k1"})
    await client.post("/week/plan", data={"seconds": "2"})
    assert (await waited(app)).phase is Phase.DONE
    after = stored(db).plan
    assert after.flask(pinned.id) == pinned
    assert after.flask(begun.id) == begun
    text = words((await client.get("/week")).text)
    assert "the customer watches" in text
    assert "invested" in text


async def test_a_plan_that_moves_what_was_pinned_meanwhile_is_not_kept(app: FastAPI, db: Database) -> None:
    now = app.state.settings.fixed_now
    current = stored(db)
    flask = current.plan.flasks[0]
    with db.write() as session:
        flasks.pin(session, flask.id)
    changed = replace(current.plan, flasks=tuple(replace(f, size="other") if f == flask else f for f in current.plan.flasks))
    with pytest.raises(Exception, match="While the plan was being made"):
        keep_plan(db, Answer(changed), now, 1)
    assert stored(db) == current


async def test_jobs_that_came_after_the_plan_are_told(client: httpx.AsyncClient, db: Database) -> None:
    assert "since this plan:" not in (await client.get("/week")).text
    with db.write() as session:
        job = nouns.all_of(session, Job)[0]
        nouns.add(session, replace(job, id="J900"))
        nouns.add(session, replace(job, id="J901"))
        nouns.archive(session, Job, "J110")
        nouns.put(session, replace(job, quantity=job.quantity + 1))
    text = words((await client.get("/week")).text)
    assert "2 jobs added since this plan: J900, J901" in text
    assert "1 job taken off the list since this plan: J110" in text
    assert f"1 job with another quantity than in this plan: {job.id}" in text


async def test_a_shop_that_changed_after_the_plan_is_told_by_rule(client: httpx.AsyncClient, db: Database) -> None:
    kiln = stored(db).plan.loads[0].kiln
    assert "The shop has changed" not in (await client.get("/week")).text
    with db.write() as session:
        nouns.put(session, replace(nouns.find(session, Kiln, kiln), in_service=False))
    text = words((await client.get("/week")).text)
    assert "The shop has changed" in text
    assert "Rule 7" in text


async def test_flasks_behind_the_plan_are_named(
    new_database: NewDatabase, checked_demo: str, demo_settings: Callable[[str], Settings]
) -> None:
    settings = demo_settings(new_database(checked_demo))
    db = Database(settings.database_url)
    plan = stored(db)
    first = min(plan.plan.flasks, key=lambda f: f.invest_start)
    db.close()
    later = plan.clock.local(first.invest_end).replace(tzinfo=None)
    app = create_app(replace(settings, fixed_now=later))
    transport = httpx.ASGITransport(app=app)
    async with httpx.AsyncClient(transport=transport, base_url=ORIGIN, headers={"Origin": ORIGIN}) as client:
        assert f"{first.id} should have been invested by now" in words((await client.get("/week")).text)
        marked = await client.post(f"/flask/{first.id}/stage", data={"stage": "invested"})
        assert marked.status_code == 303, marked.text
        assert "should have been invested by now" not in words((await client.get("/week")).text)
    app.state.db.close()


async def test_a_look_never_changes_anything(client: httpx.AsyncClient, db: Database, settings: Settings) -> None:
    plan = stored(db)
    flask = plan.plan.flasks[0]
    job = next(iter(flask.contents))
    before = rows_of(settings.database_url)
    pages = ["/week", "/week/solve", "/today", "/metal", f"/flask/{flask.id}", f"/flask/{flask.id}/move?job={job}&pieces=1&to="]
    for page in pages:
        assert (await client.get(page)).status_code in (200, 303)
    assert rows_of(settings.database_url) == before


async def test_a_week_on_another_day_moves_no_moment(db: Database) -> None:
    plan = stored(db)
    other = Clock(plan.clock.first_day.replace(day=4), plan.clock.timezone)
    shown = moved(plan.plan, plan.clock, other)
    for old, new in zip(plan.plan.flasks, shown.flasks, strict=True):
        assert other.local(new.cast_start) == plan.clock.local(old.cast_start)


async def test_stages_come_from_the_record(client: httpx.AsyncClient, db: Database) -> None:
    flask = stored(db).plan.flasks[0].id
    with db.write() as session:
        flasks.record(session, flask, Stage.INVESTED)
    page = (await client.get("/week")).text
    row = page[page.index(f'href="/flask/{flask}">{flask}</a><br>') :]
    assert '<span class="mark good">invested</span>' in row[: row.index("</tr>")]


async def test_a_plan_keeps_what_people_have_read_unless_it_is_made_anew(
    client: httpx.AsyncClient, app: FastAPI, db: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    form = words((await client.get("/week")).text)
    assert "Keep what people have read Plan anew" in form
    asked: list[bool] = []
    start = app.state.runner.start

    def remember(shop: str, ask: Ask, keep: Keep) -> SolveState:
        asked.append(ask.anew)
        state: SolveState = start(shop, ask, keep)
        return state

    monkeypatch.setattr(app.state.runner, "start", remember)
    before = stored(db).plan
    await client.post("/week/plan", data={"seconds": "2", "how": "steady"})
    state = await waited(app)
    assert "No flask that people have read was changed." in state.message
    assert {(f.id, f.cast_start) for f in stored(db).plan.flasks} == {(f.id, f.cast_start) for f in before.flasks}
    await client.post("/week/plan", data={"seconds": "2", "how": "anew"})
    await waited(app)
    assert asked == [False, True]


async def test_one_day_of_the_time_axis_can_be_looked_at_alone(client: httpx.AsyncClient) -> None:
    week = (await client.get("/week")).text
    assert 'href="/week?day=2026-03-03#axis"' in week
    one = (await client.get("/week", params={"day": "2026-03-03"})).text
    assert "Tue 3 Mar on a time axis" in one
    assert search(r'href="/week\?day=2026-03-03#axis"[^>]* aria-current="page"', one)
    assert "The week on a time axis" in (await client.get("/week", params={"day": "1999-01-01"})).text
