"""Fixtures of the web tests: a database for each test, the app on it, a client.

A new database holds the starting shop (no jobs, no lots); ``save_week`` puts another one in its place.

The client is httpx's own, talking to the app in the same process. ``client.get("/jobs")`` and
``client.post("/jobs", data={...})`` behave like a browser of the same origin; redirects are not followed
unless asked. Tests that use it are ``async def``.
"""

from __future__ import annotations

from collections.abc import AsyncIterator, Iterator
from datetime import datetime
from pathlib import Path

import httpx
import pytest
from databases import NewDatabase
from fastapi import FastAPI

from webapp.app import create_app
from webapp.settings import Settings
from webapp.store.engine import Database

ORIGIN = "http://localhost:8765"
NOW = datetime(2026, 3, 2, 8, 0)
"""A Monday morning."""


@pytest.fixture(scope="session")
def anyio_backend() -> str:
    return "asyncio"


@pytest.fixture
def settings(new_database: NewDatabase, opened: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Settings:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    return Settings(database_url=new_database(opened), log_level="ERROR", fixed_now=NOW)


@pytest.fixture
def db(settings: Settings) -> Iterator[Database]:
    database = Database(settings.database_url)
    yield database
    database.close()


@pytest.fixture
def empty_db(new_database: NewDatabase, migrated: str) -> Iterator[Database]:
    """A database without even a starting shop."""
    database = Database(new_database(migrated))
    yield database
    database.close()


@pytest.fixture
def app(settings: Settings) -> Iterator[FastAPI]:
    app = create_app(settings)
    yield app
    app.state.db.close()


@pytest.fixture
async def client(app: FastAPI) -> AsyncIterator[httpx.AsyncClient]:
    transport = httpx.ASGITransport(app=app, raise_app_exceptions=False)
    async with httpx.AsyncClient(transport=transport, base_url=ORIGIN, headers={"Origin": ORIGIN}) as client:
        yield client
