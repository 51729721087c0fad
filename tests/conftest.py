"""Fixtures that every test may use."""

import os
from pathlib import Path

import pytest

SHARED_DATA = Path(__file__).resolve().parents[2] / "shared" / "data"


@pytest.fixture(scope="session")
def shared_data() -> Path:
    """The folder of published instances and the job list as typed, where it lies beside the project."""
    if not SHARED_DATA.is_dir():
        pytest.skip(f"no shared data folder beside the project ({SHARED_DATA.name} not found)")
    return SHARED_DATA


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """Where nothing may be skipped (CASTWEEK_NO_SKIPS=1), a skip fails the run."""
    reporter = session.config.pluginmanager.get_plugin("terminalreporter")
    skipped = reporter.stats.get("skipped", []) if reporter else []
    if os.environ.get("CASTWEEK_NO_SKIPS") == "1" and skipped and exitstatus == 0:
        session.exitstatus = 1
