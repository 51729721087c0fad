"""A change that is sent twice happens once, and is answered as the first time."""

from __future__ import annotations

from datetime import timedelta

import httpx
import pytest

from webapp import steady
from webapp.app import ROUTERS
from webapp.routes import checks
from webapp.routes.doors import FLOOR_DOOR
from webapp.routes.once import Once
from webapp.store import answers
from webapp.store.engine import Database
from webapp.store.flasks import happened
from webapp.store.plans import current_plan

OUTBOX = {"Castweek-Outbox": "1"}


@pytest.fixture
def flask(db: Database) -> str:
    with db.read() as session:
        stored = current_plan(session)
    assert stored is not None
    return min(stored.plan.flasks, key=lambda f: f.invest_start).id


def stages_of(db: Database, flask: str) -> list[str]:
    with db.read() as session:
        return [str(event.stage) for event in happened(session).get(flask, ())]


async def test_the_same_change_sent_twice_is_answered_the_same_and_happens_once(
    client: httpx.AsyncClient, db: Database, flask: str
) -> None:
    form = {"flasks": flask, "stage": "invested", "key": "one"}
    first, second = [await client.post("/today/done", data=form) for _ in range(2)]
    assert (first.status_code, first.headers["location"], first.headers["set-cookie"]) == (
        second.status_code,
        second.headers["location"],
        second.headers["set-cookie"],
    )
    assert stages_of(db, flask) == ["invested"]
    await client.post("/today/undo", data={**form, "key": "two"})
    late = await client.post("/today/done", data=form)
    assert late.status_code == 303
    assert stages_of(db, flask) == [], "an answer that comes late does not bring back what was undone since"


async def test_a_key_that_was_used_for_something_else_is_refused_in_words(
    client: httpx.AsyncClient, db: Database, flask: str
) -> None:
    form = {"flasks": flask, "stage": "invested", "key": "one"}
    await client.post("/today/done", data=form)
    other = await client.post("/today/done", data={**form, "day": "2026-03-03"})
    elsewhere = await client.post("/today/undo", data=form)
    assert (other.status_code, elsewhere.status_code) == (409, 409)
    assert "this form was sent before with something else in it" in other.text
    assert stages_of(db, flask) == ["invested"]


async def test_a_refusal_is_not_kept_so_that_the_form_may_be_sent_again(
    client: httpx.AsyncClient, db: Database, flask: str
) -> None:
    early = {"flasks": flask, "stage": "loaded", "key": "load"}
    assert (await client.post("/today/done", data=early)).status_code == 422
    await client.post("/today/done", data={"flasks": flask, "stage": "invested", "key": "invest"})
    assert (await client.post("/today/done", data=early)).status_code == 303
    assert stages_of(db, flask) == ["invested", "loaded"]


async def test_a_script_is_told_when_it_was_saved_and_may_name_the_key_in_a_header(
    client: httpx.AsyncClient, db: Database, flask: str
) -> None:
    form = {"flasks": flask, "stage": "invested"}
    headers = {**OUTBOX, "Castweek-Key": "from-a-header", "Castweek-Who": ""}
    first, second = [await client.post("/today/done", data=form, headers=headers) for _ in range(2)]
    assert first.status_code == 200
    assert first.json() == second.json()
    assert first.json()["said"] == f"{flask}: invested."
    assert first.json()["onward"] == "/today"
    assert stages_of(db, flask) == ["invested"]


async def test_an_entry_is_as_old_as_the_tablet_counted_whatever_its_clock_says(
    client: httpx.AsyncClient, db: Database, flask: str
) -> None:
    before = steady.utc_now()
    headers = {**OUTBOX, "Castweek-Age": str(45 * 60 * 1000)}
    await client.post("/today/done", data={"flasks": flask, "stage": "invested", "key": "old"}, headers=headers)
    await client.post("/today/done", data={"flasks": flask, "stage": "loaded", "key": "new"}, headers=OUTBOX)
    with db.read() as session:
        invested, loaded = happened(session)[flask]
    assert before - timedelta(minutes=45) <= invested.at <= steady.utc_now() - timedelta(minutes=45)
    assert loaded.at - invested.at >= timedelta(minutes=45)


async def test_an_entry_of_somebody_else_is_kept_on_the_tablet(client: httpx.AsyncClient, db: Database, flask: str) -> None:
    form = {"flasks": flask, "stage": "invested", "key": "hers"}
    answer = await client.post("/today/done", data=form, headers={**OUTBOX, "Castweek-Who": "7"})
    assert answer.status_code == 403
    assert answer.headers["castweek-sign-in"] == "needed"
    assert stages_of(db, flask) == []


async def test_old_answers_are_forgotten_at_the_start(
    client: httpx.AsyncClient, db: Database, flask: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    await client.post("/today/done", data={"flasks": flask, "stage": "invested", "key": "kept"})
    answers.prune(db)
    with db.read() as session:
        assert answers.find(session, "kept") is not None
    later = steady.utc_now() + timedelta(days=31)
    monkeypatch.setattr(answers, "utc_now", lambda: later)
    answers.prune(db)
    with db.read() as session:
        assert answers.find(session, "kept") is None


def test_every_change_on_the_floor_happens_once() -> None:
    """A signature besides: its wrong tries count even when the rest is undone, so it keeps its key itself."""
    changes = [
        route
        for router, door in ROUTERS
        if door is FLOOR_DOOR and router is not checks.signing
        for route in router.routes
        if "POST" in getattr(route, "methods", ()) and not isinstance(route, Once)
    ]
    assert changes == []
