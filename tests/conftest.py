"""Fixtures that every test may use."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest

from domain.planning.manager import plan_by_hand
from domain.stock.week_charges import week_charges
from domain.week.build import problem_of
from webapp.demo import seed_demo
from webapp.settings import Settings
from webapp.store.engine import Database
from webapp.store.migrations import migrate
from webapp.store.week import load_week, save_plan

SHARED_DATA = Path(__file__).resolve().parents[2] / "shared" / "data"
DEMO_NOW = datetime(2026, 3, 2, 7, 0)
"""A Monday, an hour before the demo's studio opens."""


@pytest.fixture(scope="session")
def shared_data() -> Path:
    """The folder of published instances and the job list as typed, where it lies beside the project."""
    if not SHARED_DATA.is_dir():
        pytest.skip("no folder shared/data beside the project, with the published instances and the job list as typed")
    return SHARED_DATA


@pytest.fixture(scope="session")
def planned_demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A database with the demo's studio at ``DEMO_NOW`` and its week planned by hand. Copy it, do not change it."""
    path = tmp_path_factory.mktemp("planned") / "demo.sqlite3"
    db = Database(f"sqlite:///{path}")
    migrate(db)
    with db.write() as session:
        seed_demo(session, DEMO_NOW)
    with db.write() as session:
        problem = problem_of(load_week(session, DEMO_NOW))
        plan = plan_by_hand(problem)
        charged = week_charges(problem, plan.flasks)
        save_plan(session, replace(plan, charges=charged.charges, orders=charged.orders), DEMO_NOW)
    db.close()
    return path


@pytest.fixture(scope="session")
def demo_settings() -> Callable[[Path], Settings]:
    """Settings for a server on a copy of ``planned_demo``, whose clock stands at ``DEMO_NOW``."""

    def settings(database: Path) -> Settings:
        return Settings(database_url=f"sqlite:///{database}", log_level="ERROR", demo=True, fixed_now=DEMO_NOW)

    return settings


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Browser tests run last: a driver that has run leaves no event loop for the tests after it."""
    items.sort(key=lambda item: "browser" in item.path.parts)


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """Where nothing may be skipped (CASTWEEK_NO_SKIPS=1), a skip fails the run."""
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    skipped = reporter.stats.get("skipped", []) if reporter else []
    if os.environ.get("CASTWEEK_NO_SKIPS") == "1" and skipped and exitstatus == 0:
        session.exitstatus = 1
