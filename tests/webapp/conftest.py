"""Fixtures of the web tests: a database file for each test, the app on it, a client.

A new database holds the starting shop (no jobs, no lots); ``save_week`` puts another one in its place.

The client is httpx's own, talking to the app in the same process. ``client.get("/jobs")`` and
``client.post("/jobs", data={...})`` behave like a browser of the same origin; redirects are not followed
unless asked. Tests that use it are ``async def``.
"""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator, Iterator
from datetime import datetime
from pathlib import Path

import httpx
import pytest
from fastapi import FastAPI

from webapp.actions.start import open_shop
from webapp.app import create_app
from webapp.settings import Settings
from webapp.store.engine import Database
from webapp.store.migrations import migrate

ORIGIN = "http://localhost:8765"
NOW = datetime(2026, 3, 2, 8, 0)
"""A Monday morning."""


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


@pytest.fixture(scope="session")
def opened_file(migrated_file: Path) -> Path:
    """A database with the starting shop, made once and copied for each test."""
    path = migrated_file.with_name("opened.sqlite3")
    shutil.copyfile(migrated_file, path)
    db = Database(f"sqlite:///{path}")
    open_shop(db, "Europe/Vienna")
    db.close()
    return path


@pytest.fixture
def settings(opened_file: Path, tmp_path: Path) -> Settings:
    path = tmp_path / "test.sqlite3"
    shutil.copyfile(opened_file, path)
    return Settings(database_url=f"sqlite:///{path}", log_level="ERROR", fixed_now=NOW)


@pytest.fixture
def db(settings: Settings) -> Iterator[Database]:
    database = Database(settings.database_url)
    yield database
    database.close()


@pytest.fixture
def empty_db(migrated_file: Path, tmp_path: Path) -> Iterator[Database]:
    """A database without even a starting shop."""
    path = tmp_path / "empty.sqlite3"
    shutil.copyfile(migrated_file, path)
    database = Database(f"sqlite:///{path}")
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
