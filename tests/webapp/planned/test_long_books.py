"""Books of many years: pages ask the same few statements however long the books are, and lists are cut into pages."""

from __future__ import annotations

import importlib.util
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from types import ModuleType
from typing import Any

import httpx
import pytest
from sqlalchemy import event, text

from domain.books.accounts import Account, AccountKind, lot
from domain.books.entries import EntryKind
from domain.books.trace import back_from, forth_from
from domain.units import Mass
from webapp.store import books
from webapp.store.books_check import broken
from webapp.store.engine import Database
from webapp.store.history import History
from webapp.store.losses import known_losses, losses

CASTS, POSTINGS = 150, 3_000
LONG_AGO = datetime(2020, 1, 1, tzinfo=UTC)


@pytest.fixture(scope="module")
def campaign() -> ModuleType:
    path = Path(__file__).resolve().parents[2] / "benchmarks" / "books.py"
    spec = importlib.util.spec_from_file_location("books_campaign", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def statements(db: Database) -> Iterator[list[str]]:
    asked: list[str] = []

    def count(_connection: Any, _cursor: Any, statement: str, *_: Any) -> None:
        asked.append(statement)

    event.listen(db.engine, "before_cursor_execute", count)
    yield asked
    event.remove(db.engine, "before_cursor_execute", count)


PAGES = ("/metal", "/metal/loss", "/books", "/books?of=job", "/books/account/lot/OLD", "/books/where/back/job/H000100-1")


async def test_pages_of_long_books_ask_no_more_and_are_cut(
    client: httpx.AsyncClient, db: Database, campaign: ModuleType, statements: list[str]
) -> None:
    campaign.seed_history(db, CASTS, POSTINGS)
    with db.read() as session:
        assert broken(session) == ()
    for address in PAGES:
        with db.write() as session:
            session.connection().execute(text("UPDATE flask_pin SET reason = reason"))
        statements.clear()
        assert (await client.get(address)).status_code == 200
        assert len(statements) <= 40, (address, len(statements))
    for address in ("/books/where/forth/lot/OLD", "/books/where/back/lot/OLD"):
        statements.clear()
        assert (await client.get(address)).status_code == 200
        assert len(statements) <= 40, (address, len(statements))
    assert "Steps 1 to 100 of" in (await client.get("/books/where/forth/lot/OLD")).text
    assert "Steps 101 to" in (await client.get("/books/where/forth/lot/OLD?page=2")).text


async def test_accounts_are_listed_by_name_a_page_at_a_time_and_found(
    client: httpx.AsyncClient, db: Database, campaign: ModuleType
) -> None:
    campaign.seed_history(db, 60, 0)
    page = (await client.get("/books?of=job&named=h0000")).text
    assert page.count("/books/account/job/H0000") == 50
    assert "The next 50 by name" in page
    last = (await client.get("/books?of=job&named=h0000&after=H000059-2")).text
    assert "/books/account/job/H000059-3" in last
    assert "The next" not in last
    assert "whose name begins with “nobody”" in (await client.get("/books?of=job&named=nobody")).text


def test_losses_that_are_added_to_are_those_read_at_once(db: Database, campaign: ModuleType) -> None:
    counts = [_the_same(db)]
    campaign.seed_history(db, 5, 0)
    counts.append(_the_same(db))
    with db.read() as session:
        entry = next(e for e in books.entries(session, kinds=[EntryKind.CAST], newest=None) if (e.flask or "").startswith("H"))
        late = [e for e in books.entries(session, flask=entry.flask, newest=None) if e.id > entry.id]
    for one in (*late, entry):
        with db.write() as session:
            books.take_back(session, one.id, "a mistake")
    counts.append(_the_same(db))
    assert counts == [counts[0], counts[0] + 5, counts[0] + 4]


def _the_same(db: Database) -> int:
    with db.read() as session:
        found = known_losses(session, LONG_AGO, "UTC")
        assert found == losses(session, LONG_AGO, "UTC")
    return len(found)


def test_a_trace_of_long_books_loses_nothing(db: Database, campaign: ModuleType) -> None:
    campaign.seed_history(db, 40, 0)
    with db.read() as session:
        back = back_from(Account(AccountKind.JOB, "H000030-1"), History(session))
        forth = forth_from(lot("OLD"), History(session))
    assert back.whole
    assert back.mass == Mass.g(12)
    assert sum(back.ends(back=True).values()) == 12_000 * 1_000_000
    assert forth.whole
    assert sum(forth.ends(back=False).values()) == forth.mass.base * 1_000_000
