"""What the flasks for a few jobs of one melt cost at least, whenever they are cast, as the solver proves it."""

from __future__ import annotations

import time
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from domain.planning.baseline.groups import Groups
from domain.planning.baseline.hours import Hours
from domain.planning.baseline.trees import Trees
from domain.planning.search.bounds_share import least_flasks

FEW = 14
"""Jobs up to which the solver is asked."""
PATIENCE = 0.5
"""Seconds that it has for one question."""


@dataclass
class Prices:
    """``wanted``: pieces by job. ``until``: of the clock, when no question is asked any more."""

    trees: Trees
    wanted: Mapping[str, int]
    until: float = 0.0
    known: dict[tuple[str, frozenset[str]], int] = field(default_factory=dict)

    def of(self, melt: str, jobs: Iterable[str], least: int = 0) -> int:
        """Other pieces beside these make no flask cheaper. ``least``: what is known otherwise."""
        jobs = sorted(jobs)
        key = melt, frozenset(jobs)
        if key not in self.known:
            low = max(least, least_flasks(self.trees, melt, [self.trees.problem.job[j] for j in jobs], dict(self.wanted))[1])
            left = self.until - time.monotonic()
            if len(jobs) > FEW or left <= 0:
                return low
            self.known[key] = self._asked(melt, jobs, low, min(PATIENCE, left))
        return max(least, self.known[key])

    def _asked(self, melt: str, jobs: Iterable[str], low: int, seconds: float) -> int:
        # The solver's library takes half a second and much memory: who only looks at plans never loads it.
        from domain.planning.solver.price import cheapest

        pieces = {j: self.wanted[j] for j in jobs}
        drafts, left = Groups(self.trees, Hours(self.trees.problem), quick=False).drafts(pieces)
        price = sum(self.trees.problem.size[d.size].cost for d in drafts)
        if left or price <= low:
            return low  # by hand there are no flasks to begin with, or none cheaper
        return min(price, cheapest(self.trees, melt, pieces, low, price - 1, seconds).least)
