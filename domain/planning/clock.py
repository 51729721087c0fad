"""The plan's clock: whole minutes that have really elapsed since local midnight of the first day.

Durations stay right over a change to or from summer time; local clock times are had only here.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import TypeAlias
from zoneinfo import ZoneInfo

Minute: TypeAlias = int


@dataclass(frozen=True, slots=True)
class Clock:
    """Counts from midnight of ``first_day`` in ``timezone`` (an IANA name)."""

    first_day: date
    timezone: str

    def _origin(self) -> datetime:
        return datetime(self.first_day.year, self.first_day.month, self.first_day.day, tzinfo=ZoneInfo(self.timezone))

    def minute(self, moment: datetime) -> Minute:
        """The minute of a moment; a moment without a zone is read as the shop's local time."""
        if moment.tzinfo is None:
            moment = moment.replace(tzinfo=ZoneInfo(self.timezone))
        return int((moment.astimezone(UTC) - self._origin().astimezone(UTC)).total_seconds() // 60)

    def minute_of(self, day: date, after_midnight: int = 0) -> Minute:
        """The minute when the shop's clock shows ``after_midnight`` minutes on ``day``. A clock time
        that a change to summer time leaves out is read as the same time before the change."""
        local = datetime(day.year, day.month, day.day) + timedelta(minutes=after_midnight)
        return self.minute(local)

    def local(self, minute: Minute) -> datetime:
        """The shop's local time at ``minute``."""
        moment = self._origin().astimezone(UTC) + timedelta(minutes=minute)
        return moment.astimezone(ZoneInfo(self.timezone))

    def day_of(self, minute: Minute) -> date:
        return self.local(minute).date()
