"""Hours: when somebody is there to load, cast and knock out."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from domain.planning.clock import Minute
from domain.planning.nights import burning
from domain.planning.problem import PersonShift, PlanDay, Problem, Window


@dataclass(frozen=True)
class Hours:
    """The opening hours and shifts of one problem."""

    problem: Problem

    @cached_property
    def open_days(self) -> tuple[tuple[Minute, Minute], ...]:
        """Opening and closing of every day on which the shop is open, in order."""
        return tuple((d.opens, d.closes) for d in self.problem.days if d.opens is not None and d.closes is not None)

    @cached_property
    def burning(self) -> dict[str, tuple[tuple[Minute, Minute, Minute], ...]]:
        """By kiln: of every open day, from when to when a load may go in, and by when its program ends."""
        return {k.id: tuple(burning(self.problem, k, self.open_days)) for k in self.problem.shop.kilns}

    @cached_property
    def _openings(self) -> list[Minute]:
        return [opens for opens, _ in self.open_days]

    def latest_open(self, at: Minute) -> Minute | None:
        """The last minute not after ``at`` on which somebody is there."""
        index = bisect_right(self._openings, at) - 1
        return min(at, self.open_days[index][1]) if index >= 0 else None

    def next_open(self, at: Minute) -> Minute | None:
        """The first minute not before ``at`` on which somebody is there."""
        index = bisect_right(self._openings, at) - 1
        if index >= 0 and at <= self.open_days[index][1]:
            return at
        return self._openings[index + 1] if index + 1 < len(self._openings) else None

    def knockout(self, cast_end: Minute, wait: int) -> tuple[Minute, Minute] | None:
        """The earliest knock-out: after the cooling wait, within the hours and overtime of one day."""
        lasts, late = self.problem.rules.knockout_minutes, self.problem.rules.overtime_minutes
        for opens, closes in self.open_days[max(0, bisect_right(self._openings, cast_end) - 1) :]:
            start = max(opens, cast_end + wait)
            if start + lasts <= closes + late:
                return start, start + lasts
        return None

    @cached_property
    def casters(self) -> tuple[PersonShift, ...]:
        return tuple(sorted((s for s in self.problem.shifts if s.casts), key=lambda s: (s.opens, s.person)))

    def shifts_of(self, day: PlanDay) -> tuple[PersonShift, ...]:
        """The casters' shifts that open on ``day``."""
        return self._by_day.get(day.date, ())

    @cached_property
    def _by_day(self) -> dict[str, tuple[PersonShift, ...]]:
        return {d.date: tuple(s for s in self.casters if d.midnight <= s.opens < d.end) for d in self.problem.days}

    @cached_property
    def cast_days(self) -> tuple[PlanDay, ...]:
        """Days on which a caster has a shift, in order."""
        return tuple(d for d in self.problem.days if self._by_day[d.date])

    @cached_property
    def _midnights(self) -> list[Minute]:
        return [d.midnight for d in self.problem.days]

    def day_index(self, at: Minute) -> int:
        """Which day of the horizon a minute falls on; 0 where it is before the first."""
        return max(0, bisect_right(self._midnights, at) - 1)

    @cached_property
    def first_day(self) -> date:
        return date.fromisoformat(self.problem.days[0].date) if self.problem.days else self.problem.clock.first_day

    def due_index(self, due: str) -> int:
        """Calendar days from the first day to a due date; negative where it is past."""
        if due not in self._due:
            self._due[due] = (date.fromisoformat(due) - self.first_day).days
        return self._due[due]

    @cached_property
    def _due(self) -> dict[str, int]:
        return {}


def overlaps(windows: tuple[Window, ...], start: Minute, end: Minute) -> bool:
    return any(w.start < end and start < w.end for w in windows)
