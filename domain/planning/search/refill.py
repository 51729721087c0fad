"""A crowded week from one day on filled anew, again and again, each time a little otherwise."""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from domain.planning.baseline.filling import Filling, Way
from domain.planning.baseline.held import Held
from domain.planning.baseline.trees import Trees
from domain.planning.manager import as_plan
from domain.planning.measure import measure, values
from domain.planning.plan import Plan

STRAY = 3
"""Flasks without a place in their day that are put in one by one; where there are more, another way is tried."""
FULL = (60, 70, 80, 90, 100)
"""Percent of a day's casts that are put in blocks."""
NOISE = (0.0, 0.0, 0.5, 1.0, 2.0)
"""By how many weighted days the need of a flask is misjudged at most."""

NEWS = 4.0
"""Seconds from one better plan that is told of to the next: rings and rows take time."""


@dataclass
class Refill(Held):
    """Holds the best plan so far."""

    def search(self, rng: random.Random, going: Callable[[], bool], better: Callable[[], None]) -> bool:
        """Fills from some day on as long as it may; whether that made the plan better. ``better`` is told each time."""
        best, found = self.levels(), False
        days = len(self.schedule.table.hours.cast_days)
        while days and going():
            before = dict(self.schedule.rides)
            first = min(rng.randrange(days), rng.randrange(days))  # what comes early has the most to follow
            placed = self._fill_from(
                first, Way(rng.choice(FULL), rng.choice((1, 1, 2)), rng.choice((2, 4, 8)), rng.choice(NOISE), rng)
            )
            levels = self.levels() if placed else best
            if levels < best:
                best, found = levels, True
                better()
            else:
                self.restore(before)
        return found

    def plan(self) -> Plan:
        plan = as_plan(self.schedule)
        return replace(plan, levels=measure(self.problem, plan))

    def levels(self) -> tuple[int, ...]:
        return values(measure(self.problem, self.bare()))

    def _fill_from(self, first: int, way: Way) -> bool:
        """Whether almost every flask found its place in a day from the first one on."""
        schedule = self.schedule
        day = schedule.table.hours.cast_days[first]
        later = [ride for ride in schedule.rides.values() if ride.flasks[0].cast_start >= day.midnight]
        for ride in later:
            schedule.take_out(ride.id)
        left = Filling(schedule, [d for ride in later for d in ride.drafts], True, crowd=True, way=way).run(first)
        if len(left) > STRAY:
            return False
        schedule.insert_all(left, self.groups().next_id)
        return True


def refilled(trees: Trees, plan: Plan, seed: int, going: Callable[[], bool], told: Callable[[Plan], None]) -> Plan:
    """The best plan found; ``told`` of every better one, measured, without reasons for what is left out."""
    refill = Refill.holding_plan(trees, plan)
    last = time.monotonic()

    def better() -> None:
        nonlocal last
        if time.monotonic() - last > NEWS:
            told(refill.plan())
            last = time.monotonic()

    return refill.plan() if refill.search(random.Random(seed), going, better) else plan
