"""The scale of a time axis: as wide as the page, narrower where nobody is in the shop."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from domain.days import weekday_words
from domain.planning.clock import Clock, Minute
from domain.planning.plan import Plan
from domain.planning.problem import Problem
from domain.saying import say
from webapp.formats import hour

WIDTH = 1000.0
GUTTER = 140.0
MARGIN = 20.0

NARROW = 0.35
"""How wide an hour with nobody in the shop is drawn beside one with somebody there."""

LEAST_DAY = 60.0
"""A day is never drawn narrower than this: a plan over many days makes the drawing wider than the page."""


@dataclass(frozen=True, slots=True)
class Scale:
    """From minutes to the drawing, in straight lines through ``points``: a minute and its place."""

    points: tuple[tuple[Minute, float], ...]

    @property
    def start(self) -> Minute:
        return self.points[0][0]

    @property
    def end(self) -> Minute:
        return self.points[-1][0]

    def x(self, minute: Minute) -> float:
        inside = min(max(minute, self.start), self.end)
        after = min(max(bisect_right([m for m, _ in self.points], inside), 1), len(self.points) - 1)
        (m0, x0), (m1, x1) = self.points[after - 1], self.points[after]
        return round(x0 + (inside - m0) / (m1 - m0) * (x1 - x0), 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick:
    x: float
    label: str
    day: bool


def scale_of(problem: Problem, plan: Plan, marks: Sequence[Minute], least: float) -> Scale:
    """The stretches between ``marks`` over the width of the page, those narrower in which nobody is in
    the shop; a minute is ``least`` wide or wider, unless it is narrow."""
    busy = [(s.opens, s.closes) for s in problem.shifts]
    busy += [t for f in plan.flasks for t in ((f.invest_start, f.invest_end), (f.cast_start, f.knockout_end))]
    weights = [1.0 if any(a < end and b > start for a, b in busy) else NARROW for start, end in pairwise(marks)]
    minutes = sum((end - start) * weight for (start, end), weight in zip(pairwise(marks), weights, strict=True))
    each = max(least, (WIDTH - GUTTER - MARGIN) / minutes)
    points = [(marks[0], GUTTER)]
    for (start, end), weight in zip(pairwise(marks), weights, strict=True):
        points.append((end, points[-1][1] + (end - start) * weight * each))
    return Scale(tuple(points))


def ticks_of(clock: Clock, scale: Scale, hours: int) -> list[Tick]:
    """Midnights with their day, and hours where their names do not touch."""
    ticks: list[Tick] = []
    clear, narrow = 0.0, False
    for minute in range(scale.start, scale.end + 1, 60):
        local, x = clock.local(minute), scale.x(minute)
        if local.minute == 0 and local.hour == 0:
            narrow = minute + 1440 <= scale.end and scale.x(minute + 1440) - x < 48
            weekday = weekday_words(local)
            named = weekday if narrow else say("{weekday} {number}", weekday=weekday, number=local.day)
            ticks.append(Tick(x=x, label=named if minute < scale.end else "", day=True))
            clear = x + 16
        elif local.minute == 0 and local.hour % hours == 0 and x >= clear and not narrow:
            ticks.append(Tick(x=x, label=hour(local), day=False))
            clear = x + 18
    return ticks
