"""The record's order and durations stay right, whoever sets a clock and whatever summer time does."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from webapp import steady
from webapp.formats import clock, local
from webapp.settings import Settings
from webapp.store.columns import utc_now


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """Seconds that have gone by, to be set by the test."""
    seconds = [100.0]
    monkeypatch.setattr(steady, "_counted", lambda: seconds[0])
    monkeypatch.setattr(steady, "_COUNTED_THEN", 100.0)
    return seconds


class AnHourWrong(datetime):
    """A machine whose clock somebody has set an hour back."""

    @classmethod
    def now(cls, tz: object = None) -> datetime:  # type: ignore[override]
        return datetime.now(UTC).astimezone(tz) - timedelta(hours=1)  # type: ignore[arg-type]


def test_setting_the_machines_clock_changes_neither_order_nor_duration(
    counted: list[float], monkeypatch: pytest.MonkeyPatch
) -> None:
    before = utc_now()
    monkeypatch.setattr(steady, "datetime", AnHourWrong)
    counted[0] += 60
    assert utc_now() - before == timedelta(minutes=1)


def test_an_entry_that_was_kept_on_a_tablet_happened_when_it_was_made(counted: list[float]) -> None:
    with steady.ago(timedelta(minutes=12)):
        made = utc_now()
    assert utc_now() - made == timedelta(minutes=12)
    assert steady.utc_now() == utc_now()
    assert counted == [100.0]


@pytest.mark.parametrize(
    ("zone", "evening", "ends"),
    [
        ("Europe/Vienna", datetime(2026, 3, 28, 20, 0), "07:30"),
        ("Europe/Vienna", datetime(2026, 10, 24, 20, 0), "05:30"),
        ("America/New_York", datetime(2026, 3, 7, 20, 0), "07:30"),
        ("America/New_York", datetime(2026, 10, 31, 20, 0), "05:30"),
    ],
)
def test_a_burnout_over_a_change_of_the_clock_lasts_as_long_as_ever(
    zone: str, evening: datetime, ends: str, counted: list[float], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(steady, "_STARTED", evening.replace(tzinfo=ZoneInfo(zone)).astimezone(UTC))
    settings = Settings(database_url="sqlite:///unused.sqlite3")
    started, shown = utc_now(), settings.now(zone)
    counted[0] += (10 * 60 + 30) * 60
    assert utc_now() - started == timedelta(hours=10, minutes=30)
    assert shown == evening
    assert clock(local(utc_now(), zone)) == clock(settings.now(zone)) == ends


def test_the_hour_that_comes_twice_is_in_order(counted: list[float], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(steady, "_STARTED", datetime(2026, 10, 25, 0, 30, tzinfo=UTC))
    first = utc_now()
    counted[0] += 3600
    second = utc_now()
    assert clock(local(first, "Europe/Vienna")) == clock(local(second, "Europe/Vienna")) == "02:30"
    assert second - first == timedelta(hours=1)
