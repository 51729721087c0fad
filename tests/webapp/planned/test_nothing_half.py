"""Whatever fails while something is written down: no answer says that it was saved, and nothing is half written.
Whoever kills the server loses nothing that was answered."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx
import pytest
from databases import NewDatabase, rows_of
from sqlalchemy import event

from webapp.settings import Settings
from webapp.store.engine import Database
from webapp.store.plans import current_plan

sys.path.append(str(Path(__file__).parents[2] / "benchmarks"))
from kills import campaign

WRITES = ("INSERT", "UPDATE", "DELETE", "SAVEPOINT", "RELEASE")
MOST = 60


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


async def test_a_write_that_fails_is_never_answered_as_saved_and_leaves_nothing(
    client: httpx.AsyncClient, db: Database, settings: Settings, flask: str
) -> None:
    for number, (address, form) in enumerate(changes(flask)):
        if "lot.0" in form:
            form["lot.0"] = shop_lot(await client.get(f"/flask/{flask}/metal"))
        form["key"] = f"key-{number}"
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


def shop_lot(page: httpx.Response) -> str:
    """A lot of the alloy that the page proposes."""
    return page.text.split('name="lot.0"')[1].split("selected")[0].rsplit('value="', 1)[1].split('"')[0]


def test_a_killed_server_has_kept_what_it_answered_and_counts_what_is_sent_again_once(
    new_database: NewDatabase, checked_demo: str, long_slices: bool
) -> None:
    found = campaign(new_database(checked_demo), kills=3 if long_slices else 1)
    assert found.entries > 3
    assert not found.lost
    assert not found.doubled
