"""A plan made by hand is planned over only when the manager says so."""

from __future__ import annotations

import asyncio
import re
from html import unescape

import httpx
import pytest
from fastapi import FastAPI

from domain.errors import DomainError
from domain.week.build import problem_of
from webapp.actions.flask import Move, keep_move
from webapp.actions.hand_made import hand_made
from webapp.actions.planning import SHOP, keep_plan
from webapp.settings import Settings
from webapp.solving.messages import Answer
from webapp.solving.runner import Phase, SolveState
from webapp.store import flasks
from webapp.store.engine import Database
from webapp.store.plans import StoredPlan, current_plan
from webapp.store.week import load_week


@pytest.fixture
def moved(db: Database, settings: Settings) -> tuple[str, str]:
    """The week with some pieces in a new flask: from where, and where they are."""
    plan = stored(db)
    with db.read() as session:
        problem = problem_of(load_week(session, settings.now("Europe/Vienna")))
    source = max((f for f in plan.plan.flasks if len(f.contents) > 1), key=lambda f: len(f.contents))
    job, count = next((j, n) for j, n in source.contents.items() if problem.job[j].may_split)
    kept = keep_move(db, settings, Move(job=job, pieces=count, from_flask=source.id, to=None), plan.version)
    assert kept.allowed
    return source.id, kept.new_flask


def stored(db: Database) -> StoredPlan:
    with db.read() as session:
        plan = current_plan(session)
    assert plan is not None
    return plan


def words(html: str) -> str:
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]*>", " ", html)))


async def waited(app: FastAPI) -> SolveState:
    state: SolveState = await asyncio.to_thread(app.state.runner.wait, SHOP, 60)
    return state


async def test_planning_again_after_a_move_asks_and_names_what_could_be_lost(
    client: httpx.AsyncClient, app: FastAPI, db: Database, moved: tuple[str, str]
) -> None:
    asked = await client.post("/week/plan", data={"seconds": "2"})
    assert asked.status_code == 409
    text = words(asked.text)
    assert "1 move made by hand since plan 1 could be lost" in text
    assert stored(db).note in text
    assert all(flask in text for flask in moved)
    assert 'name="seconds" value="2"' in asked.text
    assert app.state.runner.state(SHOP).phase is Phase.IDLE
    assert stored(db).version == 2


async def test_kept_moves_are_pinned_in_one_press_and_stand_in_the_new_plan(
    client: httpx.AsyncClient, app: FastAPI, db: Database, moved: tuple[str, str]
) -> None:
    by_hand = stored(db).plan
    assert (await client.post("/week/plan", data={"seconds": "2", "by_hand": "keep"})).status_code == 303
    assert (await waited(app)).phase is Phase.DONE
    after = stored(db)
    assert after.version == 3
    assert [after.plan.flask(f) for f in moved] == [by_hand.flask(f) for f in moved]
    with db.read() as session:
        assert flasks.pins(session).keys() == set(moved)
        assert {pin.reason for pin in flasks.pins(session).values()} == {"moved by hand"}


async def test_pins_are_taken_back_where_the_planner_is_busy_and_pages_answer_meanwhile(
    client: httpx.AsyncClient, app: FastAPI, db: Database, moved: tuple[str, str]
) -> None:
    assert (await client.post("/week/plan", data={"seconds": "600", "by_hand": "lose"})).status_code == 303
    refused = await client.post("/week/plan", data={"seconds": "2", "by_hand": "keep"})
    assert refused.status_code == 422
    assert "being planned already" in refused.text
    with db.read() as session:
        assert flasks.pins(session) == {}
    for page in ("/week", "/today", "/jobs", f"/flask/{moved[0]}", f"/flask/{moved[0]}/slots", "/what-if"):
        assert (await client.get(page)).status_code == 200, f"{page} while the planner works"
    assert app.state.runner.state(SHOP).busy


async def test_who_does_not_keep_them_plans_without_pins(
    client: httpx.AsyncClient, app: FastAPI, db: Database, moved: tuple[str, str]
) -> None:
    assert (await client.post("/week/plan", data={"seconds": "2", "by_hand": "lose"})).status_code == 303
    assert (await waited(app)).phase is Phase.DONE
    with db.read() as session:
        assert flasks.pins(session) == {}
        assert hand_made(session) is None
    assert moved[0] != moved[1]


async def test_a_wish_that_is_none_plans_nothing(client: httpx.AsyncClient, app: FastAPI, moved: tuple[str, str]) -> None:
    assert moved
    assert (await client.post("/week/plan", data={"seconds": "2", "by_hand": "perhaps"})).status_code == 422
    assert app.state.runner.state(SHOP).phase is Phase.IDLE


async def test_what_is_pinned_already_is_not_asked_about(client: httpx.AsyncClient, db: Database, moved: tuple[str, str]) -> None:
    for flask in moved:
        await client.post(f"/flask/{flask}/pin", data={"reason": "as agreed"})
    with db.read() as session:
        assert hand_made(session) is None


def test_a_move_made_while_the_planner_works_is_not_overwritten(db: Database, settings: Settings, moved: tuple[str, str]) -> None:
    by_hand = stored(db)
    assert moved[1] in {f.id for f in by_hand.plan.flasks}
    with pytest.raises(DomainError, match="pieces were moved by hand"):
        keep_plan(db, Answer(by_hand.plan), settings.now("Europe/Vienna"), base=1)
    assert stored(db) == by_hand
