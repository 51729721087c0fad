"""What the record says: robust figures, and suggestions only where there is enough to say."""

from __future__ import annotations

import random
from datetime import UTC, datetime, timedelta

import numpy
import pytest
from scipy import stats

from domain.floor.learning import (
    ENOUGH,
    CastFact,
    Decision,
    Learned,
    bands_of,
    fixed_button,
    group_facts,
    median_between,
    minutes_between,
    rate_between,
    spread_of,
    suggestion,
)
from domain.floor.times import CastAs, Outcome, PastCast, PatternCast
from domain.shop.alloy import Section
from domain.units import Density, Mass, Share, Temperature, Volume

START = datetime(2026, 3, 2, 8, tzinfo=UTC)


@pytest.mark.outside("numpy.quantile, linear interpolation (type 7)")
@pytest.mark.parametrize("count", [1, 2, 3, 8, 9, 40])
def test_median_and_quartiles_are_those_of_numpy(count: int) -> None:
    values = [random.Random(count).randrange(0, 100_000) for _ in range(count)]
    seen = spread_of(values)
    assert seen is not None
    low, median, high = numpy.quantile(values, [0.25, 0.5, 0.75])
    assert (seen.low, seen.median, seen.high) == pytest.approx((low, median, high), abs=0.5)


@pytest.mark.outside("scipy.stats.quantile_test, confidence interval of the median (Conover, 3.2)")
@pytest.mark.parametrize("count", [6, 8, 11, 20, 40])
def test_the_interval_of_the_median_holds_at_least_what_scipy_gives(count: int) -> None:
    values = sorted(random.Random(count).sample(range(1000), count))
    interval = stats.quantile_test(values, p=0.5).confidence_interval(0.95)
    assert median_between(values) == (interval.low, interval.high)


@pytest.mark.outside("scipy.stats.binomtest, interval of Wilson (1927)")
@pytest.mark.parametrize(("bad", "of"), [(0, 1), (0, 20), (1, 20), (7, 30), (30, 30)])
def test_the_interval_of_a_rate_is_wilsons(bad: int, of: int) -> None:
    wilson = stats.binomtest(bad, of).proportion_ci(0.95, method="wilson")
    low, high = rate_between(bad, of)
    assert (low.base / 1e6, high.base / 1e6) == pytest.approx((wilson.low, wilson.high), abs=3e-6)


def test_too_few_casts_suggest_nothing() -> None:
    assert suggestion(Learned.MINUTES, "m", 10, [14] * (ENOUGH - 1)) is None
    found = suggestion(Learned.MINUTES, "m", 10, [14] * ENOUGH)
    assert found is not None
    assert (found.use, found.of) == (14, ENOUGH)


def test_what_agrees_with_the_plan_or_differs_by_little_is_not_asked_about() -> None:
    assert suggestion(Learned.MINUTES, "m", 12, [11, 12, 13, 14, 15, 10, 12, 14, 16]) is None
    assert suggestion(Learned.MINUTES, "m", 20, [21] * 20) is None, "a tenth is not reached"
    assert suggestion(Learned.MELT_LOSS, "a", 10_000, [11_500] * 20) is None, "0.15 % is not worth it"


def test_one_forgotten_entry_moves_nothing() -> None:
    usual = [14, 13, 15, 14, 14, 13, 15, 14]
    plain, spoilt = suggestion(Learned.MINUTES, "m", 10, usual), suggestion(Learned.MINUTES, "m", 10, [*usual, 59])
    assert plain is not None
    assert spoilt is not None
    assert plain.use == spoilt.use == 14


def test_a_loss_below_nothing_is_not_suggested() -> None:
    assert suggestion(Learned.MELT_LOSS, "a", 10_000, [-9_000] * 10) is None


def test_only_the_newest_casts_count() -> None:
    found = suggestion(Learned.MINUTES, "m", 10, [10] * 60 + [15] * 40)
    assert found is not None
    assert (found.use, found.of, found.seen.count) == (15, 100, 40)


def test_a_refusal_holds_until_plan_or_record_changes_noticeably() -> None:
    asked = suggestion(Learned.MINUTES, "m", 10, [14] * 10)
    assert asked is not None
    no = Decision(what=Learned.MINUTES, subject="m", accepted=False, planned=10, use=14, count=10, at=START)
    assert no.holds(asked)
    for values, planned in (([16] * 10, 10), ([14] * 10, 9), ([14] * 20, 10)):
        again = suggestion(Learned.MINUTES, "m", planned, values)
        assert again is not None
        assert not no.holds(again)
    other = suggestion(Learned.MINUTES, "n", 10, [14] * 10)
    assert other is not None
    assert not no.holds(other)


def test_a_break_and_what_was_written_down_together_are_no_casts() -> None:
    times = [minutes_between(START, START + timedelta(minutes=m)) for m in (0, 1, 2, 14, 60, 61, -14)]
    assert times == [None, None, 2, 14, 60, None, None]
    assert minutes_between(None, START) is None


def fact(n: int = 0, **known: object) -> CastFact:
    values = {"flask": f"F{n}", "at": START + timedelta(hours=n), "alloy": "silver-925", "size": "3x3", "machine": "spring"}
    return CastFact(**{**values, **known})  # type: ignore[arg-type]


def test_a_group_tells_loss_button_and_yield_of_what_was_weighed() -> None:
    weighed = {"charged": Mass.g(100), "castings": Mass.g(60), "back": Mass.g(39), "sprues": Mass.g(20)}
    (group,) = group_facts([fact(1, **weighed), fact(2), fact(3, minutes=14)])
    assert group.casts == 3
    assert group.loss
    assert group.button
    assert group.yielded
    assert (group.loss.values, group.button.values, group.yielded.values) == ((10_000,), (19_000,), (600_000,))
    assert group.minutes is not None
    assert not group.minutes.enough


def test_the_buttons_fixed_part_follows_what_is_weighed_in_and_settles() -> None:
    """Taken over, the plan asks for the charge that the shop weighs, and nothing more is suggested: buttons as they
    come out would drive themselves up, because lighter pieces leave larger ones."""
    density, loss = Density.g_cm3(10), Share.percent(1)
    habit = fact(charged=Mass.g(110), asked=Mass.g(100), button=Volume.cm3(1))
    found = fixed_button(habit, loss, density)
    assert found == Volume.cm3("1.99").base
    after = fact(charged=Mass.g(110), asked=Mass.g(110), button=Volume(found))
    assert fixed_button(after, loss, density) == found
    assert fixed_button(fact(charged=Mass.g(110)), loss, density) is None


def test_pieces_are_told_by_the_temperature_of_their_flask() -> None:
    def cast(n: int, degrees: int, section: Section, defect: str) -> tuple[PastCast, Temperature]:
        patterns = (PatternCast(job=f"J{n}", item="ring", section=section, pieces=10),)
        as_planned = CastAs(alloy="silver-925", flask_temperature=Temperature.c(500), machine="m", patterns=patterns)
        outcomes = (Outcome(job=f"J{n}", pieces=7, defect=""), Outcome(job=f"J{n}", pieces=3, defect=defect))
        past = PastCast(flask=f"F{n}", at=START, cast_as=as_planned, readings={}, outcomes=outcomes)
        return past, Temperature.c(degrees)

    thin, heavy = Section.THIN, Section.HEAVY
    casts = [cast(1, 449, thin, "misrun"), cast(2, 450, thin, "misrun"), cast(3, 474, thin, "rough"), cast(4, 450, heavy, "")]
    cold, warm = bands_of(casts, "silver-925", thin)
    assert (cold.low, cold.casts, cold.pieces, cold.miscast) == (Temperature.c(425), 1, 10, 3)
    assert (warm.low, warm.casts, warm.pieces, warm.miscast) == (Temperature.c(450), 2, 20, 6)
    assert warm.defects == (("misrun", 3), ("rough", 3))
    assert not warm.enough
    assert bands_of(casts, "silver-925", heavy)[0].miscast == 0
