"""The invented studios, shared with the benchmarks."""

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

BENCHMARKS = Path(__file__).resolve().parents[2] / "benchmarks"


@pytest.fixture(scope="session")
def studio() -> ModuleType:
    """The generator of seeded weeks."""
    spec = importlib.util.spec_from_file_location("benchmark_studio", BENCHMARKS / "studio.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module
