"""Today follows the plan: the stamp that is told, the countdowns, a flask by its number."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import httpx
import pytest
from fastapi import FastAPI

from domain.planning.problem import Problem
from webapp.routes import live
from webapp.routes.live import Pulse
from webapp.store import flasks
from webapp.store.engine import Database
from webapp.store.plans import current_plan
from webapp.views.numbers import flask_of_number, short_number
from webapp.views.waits import waits

START = datetime(2026, 3, 2, 7, 0, tzinfo=UTC)


async def test_a_change_of_the_data_is_told_to_whoever_listens(app: FastAPI, db: Database, monkeypatch: pytest.MonkeyPatch) -> None:
    pulse: Pulse = app.state.pulse
    monkeypatch.setattr(pulse, "lasts", 30)
    messages = pulse.messages()
    assert (await anext(messages)).startswith("retry:")
    first = await anext(messages)
    assert pulse.listening == 1
    with db.write() as session:
        flasks.pin(session, "F1", "for the test")
    second = await anext(messages)
    assert first.startswith("event: stamp\ndata: ")
    assert second.split()[3] != first.split()[3]
    await messages.aclose()
    assert pulse.listening == 0


async def test_a_stream_ends_so_that_the_door_is_passed_again_and_too_many_are_refused(
    app: FastAPI, client: httpx.AsyncClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(app.state.pulse, "lasts", 0)
    answer = await client.get("/today/events")
    assert answer.headers["content-type"].startswith("text/event-stream")
    monkeypatch.setattr(live, "MOST", 0)
    assert (await client.get("/today/events")).status_code == 503


async def test_the_page_names_the_stamp_of_what_it_shows(app: FastAPI, client: httpx.AsyncClient, db: Database) -> None:
    def stamp(html: str) -> str:
        return html.split('data-stamp="')[1].split('"')[0]

    before = stamp((await client.get("/today")).text)
    if db.is_sqlite:  # a PostgreSQL server counts the changes of its other databases too
        assert before == stamp((await client.get("/today")).text) == app.state.pulse.stamp()
    with db.write() as session:
        flasks.pin(session, "F1", "for the test")
    assert stamp((await client.get("/today")).text) != before


def test_countdowns_go_from_what_was_recorded_to_what_must_be_waited_for(problem: Problem, db: Database) -> None:
    with db.read() as session:
        stored = current_plan(session)
    assert stored is not None
    plan = stored.plan
    load = plan.loads[0]
    flask = plan.flask(load.flasks[0])
    assert flask is not None
    name, cooling = flask.id, problem.melt[flask.melt].alloy.cooling.wait_minutes

    def wait(recorded: dict[str, datetime], now: datetime) -> tuple[str, timedelta]:
        one = next(w for w in waits(problem, plan, {name: recorded}, now))
        return one.what.split()[0], one.until - START

    rest = problem.investment[flask.investment].bench_set_minutes
    assert wait({"invested": START}, START) == ("Bench", timedelta(minutes=rest))
    started = {"invested": START, "loaded": START, "started": START}
    program = timedelta(minutes=load.program_end - load.start)
    soak = timedelta(minutes=problem.rules.soak_minutes)
    assert wait(started, START) == ("Program", program)
    assert wait(started, START + program) == ("Soak", program + soak)
    if len(load.flasks) == 1:
        assert wait({**started, "cast": START}, START) == (name, timedelta(minutes=cooling))
    cast = [w for w in waits(problem, plan, {name: {**started, "cast": START}}, START) if w.what.startswith(name)]
    assert [w.until - START for w in cast] == [timedelta(minutes=cooling)]
    assert not [w for w in waits(problem, plan, {name: {"cast": START, "knocked out": START}}, START) if w.what.startswith(name)]


@pytest.mark.parametrize(
    ("typed", "found"), [("12", "F12"), ("012", "F12"), (" f12 ", "F12"), ("2", "F2"), ("3", None), ("", None), ("F", None)]
)
def test_a_flask_is_found_by_its_number_or_its_name(typed: str, found: str | None) -> None:
    assert flask_of_number(["F2", "F12"], typed) == found
    assert flask_of_number(["A7", "B7"], "7") is None


async def test_a_number_leads_to_its_flask_or_says_that_there_is_none(client: httpx.AsyncClient, db: Database) -> None:
    with db.read() as session:
        stored = current_plan(session)
    assert stored is not None
    flask = stored.plan.flasks[0].id
    for address in (f"/f/{short_number(flask)}", f"/f?number={short_number(flask)}"):
        answer = await client.get(address)
        assert (answer.status_code, answer.headers["location"]) == (303, f"/flask/{flask}")
    assert "There is no flask 9999 in the current plan." in (await client.get("/f/9999")).text
    ticket = (await client.get(f"/print/flask/{flask}/ticket")).text
    assert f"http://localhost:8765/f/{short_number(flask)}" in ticket
