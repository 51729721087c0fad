"""The app on a copy of the demo's studio, its week planned by hand and its checklists let pass."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from databases import NewDatabase
from fastapi import FastAPI

from domain.planning.problem import Problem
from domain.week.build import problem_of
from webapp.app import create_app
from webapp.settings import Settings
from webapp.store.engine import Database
from webapp.store.week import load_week


@pytest.fixture
def settings(
    new_database: NewDatabase,
    checked_demo: str,
    demo_settings: Callable[[str], Settings],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> Settings:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    return demo_settings(new_database(checked_demo))


@pytest.fixture
def app(settings: Settings) -> Iterator[FastAPI]:
    app = create_app(settings)
    yield app
    app.state.runner.shutdown()
    app.state.db.close()


@pytest.fixture
def db(app: FastAPI) -> Database:
    database: Database = app.state.db
    return database


@pytest.fixture
def problem(app: FastAPI, db: Database) -> Problem:
    with db.read() as session:
        return problem_of(load_week(session, app.state.settings.fixed_now))
