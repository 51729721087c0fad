"""Fixtures of the web tests: a migrated database file for each test, the app on it, a client.

The client is httpx's own, talking to the app in the same process. ``client.get("/jobs")`` and
``client.post("/jobs", data={...})`` behave like a browser of the same origin; redirects are not followed
unless asked. Tests that use it are ``async def``; the marker is set here for all of them.
"""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator, Iterator
from datetime import datetime
from pathlib import Path

import httpx
import pytest
from fastapi import FastAPI

from webapp.app import create_app
from webapp.settings import Settings
from webapp.store.engine import Database
from webapp.store.migrations import migrate

ORIGIN = "http://localhost:8765"
NOW = datetime(2026, 3, 2, 8, 0)
"""A Monday morning."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if isinstance(item, pytest.Function) and "client" in item.fixturenames:
            item.add_marker(pytest.mark.anyio)


@pytest.fixture(scope="session")
def anyio_backend() -> str:
    return "asyncio"


@pytest.fixture(scope="session")
def migrated_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty database at the newest revision, made once and copied for each test."""
    path = tmp_path_factory.mktemp("database") / "empty.sqlite3"
    db = Database(f"sqlite:///{path}")
    migrate(db)
    db.close()
    return path


@pytest.fixture
def settings(migrated_file: Path, tmp_path: Path) -> Settings:
    path = tmp_path / "test.sqlite3"
    shutil.copyfile(migrated_file, path)
    return Settings(database_url=f"sqlite:///{path}", log_level="ERROR", fixed_now=NOW)


@pytest.fixture
def db(settings: Settings) -> Iterator[Database]:
    database = Database(settings.database_url)
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
