"""What if: a change is tried beside the week, and only keeping it changes anything."""

from __future__ import annotations

import asyncio
import re
from dataclasses import replace
from html import unescape

import httpx
import pytest
from fastapi import FastAPI

from domain.planning.check import check
from domain.planning.manager import plan_by_hand
from domain.shop.flask import FlaskSize
from domain.shop.jobs import Job
from domain.sources import Mark
from domain.stock.week_charges import week_charges
from domain.week.build import problem_of
from domain.week.side_by_side import Side
from domain.week.slots import best_slots
from domain.week.what_if import Change, MoreFlasks, PutOff, TakeJob, changed, words
from webapp.actions.what_if import TRYING
from webapp.solving.trials import Trial
from webapp.store import flasks, nouns
from webapp.store.engine import Database
from webapp.store.plans import current_plan, retire_current
from webapp.store.week import load_week


def text_of(html: str) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]*>", " ", html)))


def tried(app: FastAPI, *changes: Change) -> Trial:
    """A trial whose other week is planned as by hand, at once."""
    db, now = app.state.db, app.state.settings.fixed_now
    with db.read() as session:
        week, stored = load_week(session, now), current_plan(session)
    assert stored is not None
    assert week.previous is not None
    problem = problem_of(changed(week, changes))
    plan = plan_by_hand(problem)
    metal = week_charges(problem, plan.flasks)
    plan = replace(plan, charges=metal.charges, orders=metal.orders)
    assert check(problem, plan) == ()
    trial = Trial(
        changes=changes,
        words=words(week, changes),
        asked=now,
        base=stored.version,
        before=Side(problem=problem_of(week), plan=week.previous),
        after=Side(problem=problem, plan=plan),
    )
    app.state.trials.begin(trial)
    return trial


def version(db: Database) -> int:
    with db.read() as session:
        stored = current_plan(session)
    assert stored is not None
    return stored.version


async def test_a_change_is_planned_in_a_process_of_its_own_and_shown_beside_the_week(
    client: httpx.AsyncClient, app: FastAPI, db: Database
) -> None:
    began = await client.post("/what-if/try", data={"overtime": "3 h", "put_off": "J144"})
    assert began.status_code == 303
    running = text_of((await client.get("/what-if")).text)
    assert "Planning the week as it would be" in running
    await client.post("/what-if/stop")
    state = await asyncio.to_thread(app.state.runner.wait, TRYING, 60)
    assert state.phase == "done"
    page = text_of((await client.get("/what-if")).text)
    assert "Two weeks side by side" in page
    assert "overtime up to 3 h a day instead of 2 h" in page
    assert re.search(r"J144 .* not on the list", page)
    assert version(db) == 1


async def test_both_weeks_stand_with_their_own_numbers(client: httpx.AsyncClient, app: FastAPI) -> None:
    trial = tried(app, PutOff(job="J144"))
    assert trial.after is not None
    page = text_of((await client.get("/what-if")).text)
    assert f"Flasks {len(trial.before.plan.flasks)} {len(trial.after.plan.flasks)}" in page
    assert f"Kiln loads {len(trial.before.plan.loads)} {len(trial.after.plan.loads)}" in page
    late = [{level.name: level.value for level in side.plan.levels}["weighted days late"] for side in (trial.before, trial.after)]
    assert f"Days late {late[0]} day" in page
    assert late[1] < late[0]


async def test_keeping_a_bought_flask_changes_the_shop_and_the_plan_together(
    client: httpx.AsyncClient, app: FastAPI, db: Database
) -> None:
    with db.read() as session:
        size = nouns.all_of(session, FlaskSize)[0]
    trial = tried(app, MoreFlasks(size=size.id, count=2))
    kept = await client.post("/what-if/keep", data={"trial": trial.key})
    assert kept.status_code == 303
    assert kept.headers["location"] == "/week"
    with db.read() as session:
        now, stored = nouns.find(session, FlaskSize, size.id), current_plan(session)
        week = load_week(session, app.state.settings.fixed_now)
    assert now is not None
    assert stored is not None
    assert now.owned == size.owned + 2
    assert now.sources["owned"].mark is Mark.SHOP
    assert stored.version == 2
    assert stored.note == f"tried first: 2 more flasks {size.name}"
    assert [v for v in check(problem_of(week), stored.plan) if v.rule] == []
    assert app.state.trials.current is None


async def test_a_job_put_off_waits_in_the_archive_and_can_be_taken_again(
    client: httpx.AsyncClient, app: FastAPI, db: Database
) -> None:
    trial = tried(app, PutOff(job="J144"))
    await client.post("/what-if/keep", data={"trial": trial.key})
    with db.read() as session:
        (held,) = (s.value for s in nouns.all_stored(session, Job, archived=True))
    assert held.id == "J144"
    assert "J144" in (await client.get("/what-if")).text
    trial = tried(app, TakeJob(job=held))
    await client.post("/what-if/keep", data={"trial": trial.key})
    with db.read() as session:
        assert held in nouns.all_of(session, Job)


async def test_giving_up_changes_nothing(client: httpx.AsyncClient, app: FastAPI, db: Database) -> None:
    tried(app, PutOff(job="J144"))
    await client.post("/what-if/drop")
    assert version(db) == 1
    assert app.state.trials.current is None
    with db.read() as session:
        assert nouns.all_stored(session, Job, archived=True) == ()


async def test_a_trial_of_a_week_that_has_changed_is_not_kept(client: httpx.AsyncClient, app: FastAPI, db: Database) -> None:
    trial = tried(app, PutOff(job="J144"))
    assert trial.after is not None
    after = trial.after.plan
    moved = next(f for f in trial.before.plan.flasks if after.flask(f.id) != f)
    with db.write() as session:
        flasks.pin(session, moved.id, "the customer watches")
    refused = await client.post("/what-if/keep", data={"trial": trial.key})
    assert refused.status_code == 422
    assert version(db) == 1
    with db.read() as session:
        assert nouns.all_stored(session, Job, archived=True) == ()


async def test_a_trial_that_is_over_is_not_kept(client: httpx.AsyncClient, app: FastAPI, db: Database) -> None:
    tried(app, PutOff(job="J144"))
    refused = await client.post("/what-if/keep", data={"trial": "another"})
    assert refused.status_code == 422
    assert "This trial is over" in text_of(refused.text)
    assert version(db) == 1


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({}, "Choose at least one change to try."),
        ({"overtime": "long"}, "give at most 8 hours"),
        ({"overtime": "9 h"}, "give at most 8 hours"),
        ({"away": "ilko"}, "give a day"),
        ({"away": "ilko", "away_first": "2026-03-06", "away_last": "2026-03-05"}, "is before the first"),
        ({"flask": "3x3", "flask_count": "-1"}, "give a number from 1 to 100"),
        ({"night": "none"}, "There is no kiln “none”."),
        ({"take": "J999"}, "not in the archive any more"),
        ({"item": "Bell"}, "What is cast"),
    ],
)
async def test_what_cannot_be_tried_is_said_and_what_was_typed_stays(
    client: httpx.AsyncClient, typed: dict[str, str], said: str
) -> None:
    refused = await client.post("/what-if/try", data=typed or {"put_off": ""})
    assert refused.status_code == 422
    assert said in text_of(refused.text)
    if "item" in typed:
        assert 'value="Bell"' in refused.text


async def test_without_a_plan_there_is_nothing_to_compare_with(client: httpx.AsyncClient, app: FastAPI, db: Database) -> None:
    with db.write() as session:
        retire_current(session)
    assert "no plan to compare with yet" in text_of((await client.get("/what-if")).text)
    refused = await client.post("/what-if/try", data={"put_off": "J144"})
    assert refused.status_code == 422
    assert app.state.trials.current is None


async def test_moves_by_hand_that_the_change_would_undo_are_named_before_it_is_kept(
    client: httpx.AsyncClient, app: FastAPI, db: Database
) -> None:
    with db.read() as session:
        week, stored = load_week(session, app.state.settings.fixed_now), current_plan(session)
    assert stored is not None
    problem = problem_of(week)
    flask, slot = next((f.id, slots[0]) for f in stored.plan.flasks if (slots := best_slots(problem, stored.plan, f.id)))
    form = {"load": slot.load, "machine": slot.machine, "minute": slot.cast_start, "version": 1}
    assert (await client.post(f"/flask/{flask}/slot", data=form)).status_code == 303
    trial = tried(app, PutOff(job="J144"))
    assert trial.after is not None
    assert trial.after.plan.flask(flask) != slot.plan.flask(flask)
    page = text_of((await client.get("/what-if")).text)
    assert f"the week with the change does not keep {flask} as it was set by hand" in page
