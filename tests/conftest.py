"""Fixtures that every test may use.

A test that needs a database takes ``new_database`` and copies one of the templates: ``migrated`` (tables
and nothing in them), ``opened`` (the starting shop) or ``planned_demo``. Where these lie is not the test's
affair: in SQLite files, or on the PostgreSQL server that CASTWEEK_TEST_DATABASE_URL names.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import pytest
from checked import let_all_pass
from databases import Databases, NewDatabase, PostgresDatabases, SqliteFiles
from postgres import own_server, programs

from domain.planning.manager import plan_by_hand
from domain.stock.week_charges import week_charges
from domain.week.build import problem_of
from webapp.actions.start import open_shop
from webapp.demo import seed_demo
from webapp.settings import Settings
from webapp.store.engine import Database
from webapp.store.migrations import migrate
from webapp.store.week import load_week, save_plan

SHARED_DATA = Path(__file__).resolve().parents[2] / "shared" / "data"
SERVER = os.environ.get("CASTWEEK_TEST_DATABASE_URL", "")
LONG_SLICES = os.environ.get("CASTWEEK_LONG") == "1"
"""More seeds of what is sampled, as the gate runs them besides."""
DEMO_NOW = datetime(2026, 3, 2, 7, 0)
"""A Monday, an hour before the demo's studio opens."""
LONG = (
    "test_casting_day.py",
    "test_week_journey.py",
    "test_nothing_half.py",
    "test_what_if.py",
    "test_planner.py",
    "test_week.py",
    "test_replans.py",
    "test_explain_mends.py",
    "test_tablet.py",
    "test_demo.py",
)
"""files that take longest"""


@pytest.fixture(scope="session")
def long_slices() -> bool:
    return LONG_SLICES


@pytest.fixture(scope="session")
def shared_data() -> Path:
    """The folder of published instances and the job list as typed, where it lies beside the project."""
    if not SHARED_DATA.is_dir():
        pytest.skip("no folder shared/data beside the project, with the published instances and the job list as typed")
    return SHARED_DATA


@pytest.fixture(scope="session")
def databases(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Databases]:
    """Where databases of this run are made."""
    if SERVER:
        with closing(PostgresDatabases(SERVER)) as made:
            yield made
    else:
        yield SqliteFiles(tmp_path_factory.mktemp("databases"))


@pytest.fixture(scope="session")
def sqlite_files(tmp_path_factory: pytest.TempPathFactory) -> SqliteFiles:
    """For tests of what only SQLite does."""
    return SqliteFiles(tmp_path_factory.mktemp("files"))


@pytest.fixture(scope="session")
def postgres_databases() -> Iterator[PostgresDatabases]:
    """For tests of what only PostgreSQL does: on the run's server, else on one of their own."""
    if SERVER:
        with closing(PostgresDatabases(SERVER)) as made:
            yield made
        return
    if programs() is None:
        pytest.skip("no PostgreSQL on this machine: install the system's postgresql package to run the tests that are about it")
    with own_server() as server, closing(PostgresDatabases(server)) as made:
        yield made


@pytest.fixture
def new_database(databases: Databases) -> Iterator[NewDatabase]:
    """``new_database(template)`` is the address of a copy of a template (of nothing, for none), for this test
    alone. Whoever connects to it closes its ``Database``."""
    made: list[str] = []

    def new(template: str | None) -> str:
        made.append(databases.new(template))
        return made[-1]

    yield new
    for url in made:
        databases.drop(url)


@pytest.fixture(scope="session")
def migrated(databases: Databases) -> str:
    """A template at the newest revision with nothing in it."""
    url = databases.new()
    db = Database(url)
    migrate(db)
    db.close()
    return url


@pytest.fixture(scope="session")
def opened(databases: Databases, migrated: str) -> str:
    """A template with the starting shop: no jobs, no lots."""
    url = databases.new(migrated)
    db = Database(url)
    open_shop(db, "Europe/Vienna")
    db.close()
    return url


@pytest.fixture(scope="session")
def planned_demo(databases: Databases, migrated: str) -> str:
    """A template with the demo's studio at ``DEMO_NOW`` and its week planned by hand."""
    url = databases.new(migrated)
    db = Database(url)
    with db.write() as session:
        seed_demo(session, DEMO_NOW)
    with db.write() as session:
        problem = problem_of(load_week(session, DEMO_NOW))
        plan = plan_by_hand(problem)
        charged = week_charges(problem, plan.flasks)
        save_plan(session, replace(plan, charges=charged.charges, orders=charged.orders), DEMO_NOW)
    db.close()
    return url


@pytest.fixture(scope="session")
def checked_demo(databases: Databases, planned_demo: str, demo_settings: Callable[[str], Settings]) -> str:
    """The same with every checklist of every flask let pass."""
    url = databases.new(planned_demo)
    db = Database(url)
    let_all_pass(db, demo_settings(url))
    db.close()
    return url


@pytest.fixture(scope="session")
def demo_settings() -> Callable[[str], Settings]:
    """Settings for a server on a copy of ``planned_demo``, whose clock stands at ``DEMO_NOW``."""

    def settings(url: str) -> Settings:
        return Settings(database_url=url, log_level="ERROR", demo=True, fixed_now=DEMO_NOW)

    return settings


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """Folders are shared out among processes, file by file, one more than there are cores, because what drives a
    browser or a server waits much of its time; what is named more narrowly runs in one."""
    folders = any(Path(argument.partition("::")[0]).is_dir() for argument in config.args)
    cores = min(os.cpu_count() or 1, 4)
    return cores + 1 if folders and cores > 1 else 0


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Files are begun in this order. Those that take minutes come first, so that no process is left alone with
    one at the end."""
    items.sort(key=lambda item: LONG.index(item.path.name) if item.path.name in LONG else len(LONG))


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """Where nothing may be skipped (CASTWEEK_NO_SKIPS=1), a skip fails the run."""
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    skipped = reporter.stats.get("skipped", []) if reporter else []
    if os.environ.get("CASTWEEK_NO_SKIPS") == "1" and skipped and exitstatus == 0:
        session.exitstatus = 1
