"""Whatever fails while something is written down: no answer says that it was saved, and nothing is half written.
Whoever kills the server loses nothing that was answered."""

from __future__ import annotations

import html
import re
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import httpx
import pytest
from databases import NewDatabase, rows_of
from sqlalchemy import event

from domain.safety.own_points import change_of
from webapp.actions.planning import load_desk
from webapp.app import create_app
from webapp.settings import Settings
from webapp.store import checklists
from webapp.store.engine import Database
from webapp.store.plans import current_plan

sys.path.append(str(Path(__file__).parents[2] / "benchmarks"))
from kills import campaign

WRITES = ("INSERT", "UPDATE", "DELETE", "SAVEPOINT", "RELEASE")
MOST = 60
ORIGIN = "http://localhost:8765"


class Broken(Exception):
    """The disk is full, the cable is out."""


@contextmanager
def breaks_at(db: Database, count: int) -> Iterator[list[int]]:
    """The database fails at the write of this number; commits count as one."""
    seen = [0]

    def write() -> None:
        seen[0] += 1
        if seen[0] == count:
            raise Broken

    def before(_connection: Any, _cursor: Any, statement: str, *_rest: Any) -> None:
        if statement.lstrip().upper().startswith(WRITES):
            write()

    def commit(connection: Any) -> None:
        if connection.get_execution_options().get("writes"):
            write()

    event.listen(db.engine, "before_cursor_execute", before)
    event.listen(db.engine, "commit", commit)
    try:
        yield seen
    finally:
        event.remove(db.engine, "before_cursor_execute", before)
        event.remove(db.engine, "commit", commit)


@pytest.fixture
def flask(db: Database) -> str:
    with db.read() as session:
        stored = current_plan(session)
    assert stored is not None
    return min(stored.plan.flasks, key=lambda f: f.invest_start).id


def changes(flask: str) -> list[tuple[str, dict[str, str]]]:
    """Each change that the floor can make of a flask, in an order in which it may be made."""
    marked = [("/today/done", {"flasks": flask, "stage": stage}) for stage in ("invested", "loaded")]
    return [
        *marked,
        ("/today/undo", {"flasks": flask, "stage": "loaded"}),
        (f"/flask/{flask}/pin", {"reason": "for the test"}),
        (f"/flask/{flask}/unpin", {}),
        (f"/flask/{flask}/metal/charge", {"lot.0": "S-1", "mass.0": "1 g"}),
    ]


async def never_half(client: httpx.AsyncClient, db: Database, settings: Settings, address: str, form: dict[str, str]) -> None:
    """The change is made to fail at each of its writes, then made, then sent again."""
    before = rows_of(settings.database_url)
    for count in range(1, MOST):
        with breaks_at(db, count) as seen:
            answer = await client.post(address, data=form)
        if seen[0] < count:
            break
        assert answer.status_code >= 500, (address, count)
        assert rows_of(settings.database_url) == before, (address, count)
    assert answer.status_code == 303, (address, answer.text)
    assert count > 2, address
    after = rows_of(settings.database_url)
    assert after != before
    assert (await client.post(address, data=form)).status_code == 303
    assert rows_of(settings.database_url) == after, address


async def test_a_write_that_fails_is_never_answered_as_saved_and_leaves_nothing(
    client: httpx.AsyncClient, db: Database, settings: Settings, flask: str
) -> None:
    for number, (address, form) in enumerate(changes(flask)):
        if "lot.0" in form:
            form["lot.0"] = shop_lot(await client.get(f"/flask/{flask}/metal"))
        form["key"] = f"key-{number}"
        await never_half(client, db, settings, address, form)


def shop_lot(page: httpx.Response) -> str:
    """A lot of the alloy that the page proposes."""
    return page.text.split('name="lot.0"')[1].split("selected")[0].rsplit('value="', 1)[1].split('"')[0]


@pytest.fixture
def nothing_ticked(
    new_database: NewDatabase, planned_demo: str, demo_settings: Callable[[str], Settings]
) -> Iterator[tuple[httpx.AsyncClient, Database, Settings]]:
    """The app on a week whose checklists are open."""
    settings = demo_settings(new_database(planned_demo))
    app = create_app(settings)
    transport = httpx.ASGITransport(app=app, raise_app_exceptions=False)
    client = httpx.AsyncClient(transport=transport, base_url=ORIGIN, headers={"Origin": ORIGIN})
    yield client, app.state.db, settings
    app.state.db.close()


async def test_no_part_of_a_checklist_is_half_written(
    nothing_ticked: tuple[httpx.AsyncClient, Database, Settings], flask: str
) -> None:
    client, db, settings = nothing_ticked
    with db.write() as session:
        change = change_of("invest-number", ())
        assert change is not None
        checklists.save(session, replace(change, second=True), 0)
    with db.read() as session:
        first, second = [person.name for person in load_desk(session, settings).problem.shop.people][:2]
    address = f"/flask/{flask}/check/invest"
    for what, by in (
        ("tick", {"who": first}),
        ("sign", {"second": second}),
        ("back", {"who": first}),
        ("pass", {"manager": second, "reason": "the gauge is broken"}),
    ):
        page = await client.get(f"{address}?at=invest-number")
        await never_half(client, db, settings, f"{address}/{what}", hidden(page, what) | by)


def hidden(page: httpx.Response, what: str) -> dict[str, str]:
    """The hidden fields of the first form that does this."""
    form = page.text.split(f'/check/invest/{what}"', 1)[1].split("</form>")[0]
    fields = re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)">', form)
    return {name: html.unescape(value) for name, value in fields}


def test_a_killed_server_has_kept_what_it_answered_and_counts_what_is_sent_again_once(
    new_database: NewDatabase, checked_demo: str, long_slices: bool
) -> None:
    found = campaign(new_database(checked_demo), kills=3 if long_slices else 1)
    assert found.entries > 3
    assert not found.lost
    assert not found.doubled
