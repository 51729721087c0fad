"""A shop that takes in lists, on a fixed day."""

from datetime import date

import pytest

from domain.intake.rows import Vocabulary
from domain.starting.alloys import starting_alloys
from domain.starting.mould import starting_materials


@pytest.fixture(scope="session")
def vocabulary() -> Vocabulary:
    """The starting shop on Wednesday, 25 November 2026."""
    return Vocabulary(alloys=starting_alloys(), materials=starting_materials(), today=date(2026, 11, 25))
