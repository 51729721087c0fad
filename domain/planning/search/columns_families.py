"""The jobs that may share flasks, and what the flasks for them hold and cost at least."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from domain.mould.tree import reaches_inside
from domain.planning.baseline.trees import Trees
from domain.planning.problem import PlanJob
from domain.planning.search.columns_trees import Item, Trunk, good_worths, most_worth
from domain.shop.flask import FlaskSize

SMALL = 1e-3
"""What is taken off before a value is rounded up: far more than the solver's tolerance."""
MOST_SUMS = 100_000
"""Cost up to which sums of prices are listed."""
CROWD = 150
"""Jobs that share a temperature, above which nobody looks for good worths."""


@dataclass(frozen=True)
class Family:
    """The jobs of one melt that share a temperature, and the flasks for them. ``own``: those of its jobs
    that share a temperature with no other family."""

    trees: Trees
    melt: str
    jobs: tuple[PlanJob, ...]
    own: frozenset[str]
    wanted: Mapping[str, int]

    @cached_property
    def sizes(self) -> tuple[FlaskSize, ...]:
        return self.trees.usable_sizes(self.melt)

    @cached_property
    def crucible(self) -> dict[str, int]:
        """By size, what the pieces may weigh."""
        return {
            s.id: max(self.trees.most_metal(self.melt, s.id, m.id).base for m in self.trees.machines(self.melt, s.id))
            for s in self.sizes
        }

    def most(self, job: PlanJob, size: str) -> int:
        """How many of the job a flask of this size holds; none of one that may not be split and does not fit whole."""
        rules, space = self.trees.problem.rules, self.trees.space(size)
        count = job.per_tree.get(size) or 0
        if not count and reaches_inside(job.size, space):
            around = space.circle.base // (job.size.width + rules.piece_gap).base
            count = around * ((space.height + rules.ring_gap).base // (job.size.height + rules.ring_gap).base)
        count = min(count, max(0, self.crucible[size]) // max(1, job.metal_each.base), self.wanted[job.id])
        return count if space.height.base > 0 and (job.may_split or count >= self.wanted[job.id]) else 0

    def share(self, job: PlanJob, size: str) -> float:
        """The share of circle times trunk that one piece takes at least."""
        rules, space = self.trees.problem.rules, self.trees.space(size)
        trunk = (space.height + rules.ring_gap).base
        if job.per_tree.get(size):
            return space.height.base / job.per_tree[size] / trunk
        box = (job.size.width + rules.piece_gap).base * (job.size.height + rules.ring_gap).base
        return box / (space.circle.base * trunk)

    @cached_property
    def trunks(self) -> tuple[Trunk, ...]:
        return tuple(t for s in self.sizes if (t := self._trunk(s)).items)

    def _trunk(self, size: FlaskSize) -> Trunk:
        rules, space = self.trees.problem.rules, self.trees.space(size.id)
        items = [
            Item(j.id, (j.size.width + rules.piece_gap).base, (j.size.height + rules.ring_gap).base, self.wanted[j.id])
            for j in self.jobs
            if j.id in self._plain and self.most(j, size.id)
        ]
        items.sort(key=lambda i: (i.height, i.width, i.job))
        return Trunk(size.id, space.circle.base, (space.height + rules.ring_gap).base, size.cost, tuple(items))

    @cached_property
    def worth(self) -> dict[str, float]:
        """Worths by job; a job that the shop counts for itself in some size is worth nothing."""
        return good_worths(self.trunks, self._plain) if len(self._plain) <= CROWD and self.trunks else {}

    @cached_property
    def _plain(self) -> dict[str, int]:
        return {j.id: self.wanted[j.id] for j in self.jobs if not any(j.per_tree.get(s.id) for s in self.sizes)}

    @cached_property
    def most_worth(self) -> dict[str, float]:
        return {t.size: most_worth(t, self.worth) for t in self.trunks}

    def least_price(self, jobs: Iterable[str]) -> int:
        """What flasks for these jobs cost at least."""
        most = max([self.most_worth[t.size] / t.cost if t.cost else math.inf for t in self.trunks], default=math.inf)
        jobs = list(jobs)
        pieces = sum(self.worth.get(j, 0.0) * self.wanted[j] for j in jobs) / max(1.0, most)
        metal = sum(self.trees.problem.job[j].metal_each.base * self.wanted[j] for j in jobs)
        weighed = min((metal * s.cost / self.crucible[s.id] for s in self.sizes if self.crucible[s.id] > 0), default=0.0)
        return _next_sum([s.cost for s in self.sizes], max(pieces, weighed, 1.0))


def _next_sum(prices: Sequence[int], least: float) -> int:
    """The least sum of one or more prices that is not below ``least``; 0 where a flask costs nothing."""
    whole = sorted({p for p in prices if p > 0})
    if not whole or min(prices) <= 0:
        return 0
    target = math.ceil(least - SMALL)
    if target > MOST_SUMS:
        return target
    top = target + max(whole)
    sums = [True] + [False] * top
    for at in range(1, top + 1):
        sums[at] = any(p <= at and sums[at - p] for p in whole)
    return next(at for at in range(max(1, target), top + 1) if sums[at])


def families(trees: Trees, wanted: Mapping[str, int]) -> list[Family]:
    """For each melt the largest sets of jobs that share a temperature."""
    by_melt: dict[str, list[PlanJob]] = defaultdict(list)
    for j in wanted:
        by_melt[trees.problem.job[j].melt].append(trees.problem.job[j])
    return [family for melt, jobs in by_melt.items() for family in _families(trees, melt, jobs, wanted)]


def _families(trees: Trees, melt: str, jobs: Sequence[PlanJob], wanted: Mapping[str, int]) -> list[Family]:
    at = sorted({j.temperatures.low for j in jobs})
    sets = dict.fromkeys(frozenset(j.id for j in jobs if j.temperatures.low <= t <= j.temperatures.high) for t in at)
    largest = [s for s in sets if not any(s < other for other in sets)]
    own = [s - frozenset().union(*(o for o in largest if o is not s)) for s in largest]
    return [Family(trees, melt, tuple(j for j in jobs if j.id in s), mine, wanted) for s, mine in zip(largest, own, strict=True)]
