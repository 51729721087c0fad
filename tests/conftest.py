"""Fixtures that every test may use."""

from pathlib import Path

import pytest

SHARED_DATA = Path(__file__).resolve().parents[2] / "shared" / "data"


@pytest.fixture(scope="session")
def shared_data() -> Path:
    """The folder of published instances and the job list as typed, where it lies beside the project."""
    if not SHARED_DATA.is_dir():
        pytest.skip(f"no shared data folder beside the project ({SHARED_DATA.name} not found)")
    return SHARED_DATA
