"""Bare and odd weeks: each is answered with a plan that the checker passes, and with a reason for every piece left out."""

from types import ModuleType

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

BARE = (
    "nothing",
    "no kiln",
    "no machine",
    "no flask",
    "no flask large enough",
    "no metal and no supplier",
    "no metal on the shelf",
    "nobody",
    "no open day",
    "no program",
    "nothing free",
    "no time",
    "no more than one job",
    "no job",
)


@pytest.mark.parametrize("lacking", BARE)
def test_a_week_that_lacks_something_is_answered_with_a_plan_and_reasons(weeks: ModuleType, lacking: str) -> None:
    weeks.answered(weeks.bare_weeks()[lacking])


def test_weeks_that_nobody_would_make_up_are_answered(weeks: ModuleType) -> None:
    @settings(
        max_examples=12,
        deadline=None,
        derandomize=True,
        database=None,
        phases=(Phase.generate,),
        suppress_health_check=list(HealthCheck),
    )
    @given(st.data())
    def every(data: st.DataObject) -> None:
        weeks.answered(data.draw(weeks.weeks()))

    every()
