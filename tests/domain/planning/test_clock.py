"""The plan's clock counts minutes that really elapse, and shows the shop's local time."""

from datetime import date, datetime

from domain.planning.clock import Clock

AUTUMN = Clock(date(2026, 10, 24), "Europe/Vienna")
SPRING = Clock(date(2026, 3, 28), "Europe/Vienna")


def test_a_night_with_the_clock_set_back_is_an_hour_longer() -> None:
    # European summer time ends on 25 October 2026 at 03:00 (Directive 2000/84/EC: last Sunday of October)
    evening, morning = AUTUMN.minute(datetime(2026, 10, 24, 22)), AUTUMN.minute(datetime(2026, 10, 25, 8))
    assert morning - evening == 11 * 60


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
