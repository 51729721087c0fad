"""The plan's clock counts minutes that really elapse, and shows the shop's local time."""

from calendar import monthrange
from datetime import date, datetime, timedelta

import pytest

from domain.planning.clock import Clock

AUTUMN = Clock(date(2026, 10, 24), "Europe/Vienna")
SPRING = Clock(date(2026, 3, 28), "Europe/Vienna")


@pytest.mark.outside("Directive 2000/84/EC, end of summer time")
def test_a_night_with_the_clock_set_back_is_an_hour_longer() -> None:
    # European summer time ends on 25 October 2026 at 03:00 (Directive 2000/84/EC: last Sunday of October)
    evening, morning = AUTUMN.minute(datetime(2026, 10, 24, 22)), AUTUMN.minute(datetime(2026, 10, 25, 8))
    assert morning - evening == 11 * 60


@pytest.mark.outside("Directive 2000/84/EC, beginning of summer time")
def test_a_night_with_the_clock_set_forward_is_an_hour_shorter() -> None:
    evening, morning = SPRING.minute(datetime(2026, 3, 28, 22)), SPRING.minute(datetime(2026, 3, 29, 8))
    assert morning - evening == 9 * 60


def test_minutes_and_local_times_translate_back_and_forth() -> None:
    for minute in range(0, 3 * 1440, 7):
        assert AUTUMN.minute(AUTUMN.local(minute)) == minute
        assert SPRING.minute(SPRING.local(minute)) == minute


def test_midnights_differ_by_the_days_true_length() -> None:
    assert AUTUMN.minute_of(date(2026, 10, 26)) - AUTUMN.minute_of(date(2026, 10, 25)) == 25 * 60
    assert SPRING.minute_of(date(2026, 3, 30)) - SPRING.minute_of(date(2026, 3, 29)) == 23 * 60


def nth_sunday(year: int, month: int, number: int) -> date:
    """The ``number``-th Sunday of a month; -1 is the last."""
    days = [date(year, month, day) for day in range(1, monthrange(year, month)[1] + 1)]
    return [day for day in days if day.weekday() == 6][number if number < 0 else number - 1]


def days_of_other_length(year: int, timezone: str) -> dict[date, int]:
    """Days of the year that do not have 24 hours, with the hours they have."""
    first = date(year, 1, 1)
    clock = Clock(first, timezone)
    days = [first + timedelta(days=n) for n in range(365)]
    hours = {day: (clock.minute_of(day + timedelta(days=1)) - clock.minute_of(day)) // 60 for day in days}
    return {day: length for day, length in hours.items() if length != 24}


@pytest.mark.outside("Directive 2000/84/EC: last Sundays of March and October")
@pytest.mark.parametrize("timezone", ["Europe/Vienna", "Europe/Lisbon", "Europe/Helsinki"])
@pytest.mark.parametrize("year", range(2025, 2031))
def test_european_days_change_their_length_on_the_last_sundays_of_march_and_october(year: int, timezone: str) -> None:
    assert days_of_other_length(year, timezone) == {nth_sunday(year, 3, -1): 23, nth_sunday(year, 10, -1): 25}


@pytest.mark.outside("15 U.S.C. 260a: second Sunday of March, first Sunday of November")
@pytest.mark.parametrize("timezone", ["America/New_York", "America/Los_Angeles"])
@pytest.mark.parametrize("year", range(2025, 2031))
def test_american_days_change_their_length_in_march_and_november(year: int, timezone: str) -> None:
    assert days_of_other_length(year, timezone) == {nth_sunday(year, 3, 2): 23, nth_sunday(year, 11, 1): 25}
