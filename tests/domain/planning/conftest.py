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
    return _benchmark("studio")


@pytest.fixture(scope="session")
def sets() -> ModuleType:
    """The standard sets of the benchmark."""
    return _benchmark("sets")


@pytest.fixture(scope="session")
def packing() -> ModuleType:
    """Bin packing and level packing dressed up as weeks."""
    return _benchmark("packing")


@pytest.fixture(scope="session")
def weeks() -> ModuleType:
    """The strategy of bare and odd weeks, and what must hold of every answer."""
    return _benchmark("weeks")


@pytest.fixture(scope="session")
def replans() -> ModuleType:
    """The campaign of seeded replans."""
    return _benchmark("replans")


@pytest.fixture(scope="session")
def late_cases() -> ModuleType:
    """The campaign of seeded weeks in which something is late or left out."""
    return _benchmark("reasons")


def _benchmark(name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(f"benchmark_{name}", BENCHMARKS / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module
