"""A slice of the campaign on the books: whatever happens in whatever order, and forty hands at once."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

from webapp.store.engine import Database


@pytest.fixture(scope="module")
def ledger() -> ModuleType:
    path = Path(__file__).resolve().parents[1] / "benchmarks" / "ledger.py"
    spec = importlib.util.spec_from_file_location("benchmark_ledger", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def test_the_books_hold_whatever_happens_to_lots_melts_and_returns(ledger: ModuleType, empty_db: Database) -> None:
    ledger.run_machine(empty_db, 6, 25, seeded=True)


def test_of_forty_who_take_ten_grams_from_a_hundred_ten_are_served_and_the_others_told_why(
    ledger: ModuleType, empty_db: Database
) -> None:
    assert ledger.race(empty_db.address.render_as_string(hide_password=False), 2) == []
