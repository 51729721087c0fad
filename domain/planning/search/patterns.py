"""Flasks of one melt by patterns: a linear program over the fillings known so far, with new ones as its prices ask for
them, rounded one after another while the rest is priced anew (P. C. Gilmore and R. E. Gomory, "A linear programming
approach to the cutting-stock problem", Operations Research 9, 1961). Whose turn it is and when is not asked here.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np

from domain.planning.baseline.groups import Groups
from domain.planning.baseline.hours import Hours
from domain.planning.baseline.trees import Trees
from domain.planning.search.columns_families import SMALL, Family, families
from domain.planning.search.columns_lp import Programme
from domain.planning.search.columns_trees import Chosen, Item, RingChoice, Trunk, best_rings, best_trunk, doublings, with_one_more
from domain.shop.flask import FlaskSize

FINE = 2_000
"""Steps into which the metal of a flask is divided."""
ROUNDS = 300
"""Rounds of new patterns before the first is rounded."""
MORE_ROUNDS = 12
"""Rounds after each that is rounded."""
AT_ONCE = 12
"""New patterns of one size in a round."""
DIVES = 5
"""How often patterns are rounded, the first time without chance."""
LIKE = (0.6, 1.0)
"""By how much chance lowers a share."""
SURE = 0.999
"""Share from which a pattern is taken without asking further."""
GAIN = 1e-6
"""What a new pattern must be worth above its price."""


class Pattern(NamedTuple):
    """One flask."""

    size: str
    contents: tuple[tuple[str, int], ...]


@dataclass
class Patterns:
    """``wanted``: pieces by job, all of one melt. ``enough``: asked between steps whether to stop."""

    trees: Trees
    melt: str
    wanted: Mapping[str, int]
    enough: Callable[[], bool]
    known: dict[Pattern, int] = field(default_factory=dict)
    """price by pattern"""

    def flasks(self) -> list[Pattern] | None:
        """Flasks for everything that is wanted, never dearer than filled by hand; none where that was not found in time."""
        self._begin()
        best = self._by_hand()
        first = self._shares(self.wanted, ROUNDS)
        least = 0.0 if first is None else sum(self.known[p] * x for p, x in first)
        for n in range(DIVES if first is not None else 0):
            found = self._dive(random.Random(n) if n else None)
            if found is not None and (best is None or self._price(found) < self._price(best)):
                best = found
            if best is not None and self._price(best) <= math.ceil(least - SMALL):
                break
        return best

    def _by_hand(self) -> list[Pattern] | None:
        """Flasks filled job after job, which are a beginning; none where some piece goes into none."""
        drafts, left = Groups(self.trees, Hours(self.trees.problem), quick=False).drafts(self.wanted)
        flasks = [Pattern(d.size, tuple(sorted(d.contents))) for d in drafts]
        self.known |= {f: self.trees.problem.size[f.size].cost for f in flasks}
        return None if left or self.enough() else flasks

    def _price(self, flasks: Sequence[Pattern]) -> int:
        return sum(self.trees.problem.size[f.size].cost for f in flasks)

    def _dive(self, rng: random.Random | None) -> list[Pattern] | None:
        """Patterns rounded one after another."""
        left = dict(self.wanted)
        flasks: list[Pattern] = []
        while left:
            shares = self._shares(left, MORE_ROUNDS)
            if not shares or self.enough():
                return None
            for pattern, number in _rounded(shares, rng):
                flasks += self._taken(pattern, number, left)
        return flasks

    def _begin(self) -> None:
        for family in self._families:
            for job in family.jobs:
                for size in family.sizes:
                    most = family.most(job, size.id)
                    if most:
                        self._learn(size.id, {job.id: most})

    @cached_property
    def _families(self) -> list[Family]:
        return families(self.trees, self.wanted)

    def _learn(self, size: str, contents: Mapping[str, int]) -> None:
        contents = {j: n for j, n in contents.items() if n}
        if contents and self.trees.fits(self.melt, size, contents):
            pattern = Pattern(size, tuple(sorted(contents.items())))
            self.known.setdefault(pattern, self.trees.problem.size[size].cost)

    def _taken(self, pattern: Pattern, number: int, left: dict[str, int]) -> Iterator[Pattern]:
        """The pattern as often as asked, with what is still wanted; that is taken off ``left``."""
        for _ in range(number):
            contents = {j: min(n, left.get(j, 0)) for j, n in pattern.contents}
            contents = {j: n for j, n in contents.items() if n}
            if not contents:
                return
            for j, n in contents.items():
                left[j] -= n
                if not left[j]:
                    del left[j]
            yield Pattern(pattern.size, tuple(contents.items()))

    def _shares(self, left: Mapping[str, int], rounds: int) -> list[tuple[Pattern, float]] | None:
        """How often each pattern is taken at the least cost, in fractions."""
        shares = None
        for _ in range(rounds):
            model, patterns = self._master(left)
            found = model.least_with_values()
            if found is None or self.enough():
                return None
            prices, values = found
            shares = [(p, x) for p, x in zip(patterns, values, strict=True) if x > GAIN]
            if not self._priced(dict(zip(left, prices, strict=False)), left):
                break
        return shares

    def _master(self, left: Mapping[str, int]) -> tuple[Programme, list[Pattern]]:
        model = Programme()
        rows: dict[str, dict[int, float]] = {j: {} for j in left}
        patterns: list[Pattern] = []
        for pattern, price in self.known.items():
            inside = [(j, min(n, left[j])) for j, n in pattern.contents if j in left]
            if inside:
                v = model.variable(price)
                patterns.append(pattern)
                for j, n in inside:
                    rows[j][v] = float(n)
        for j, terms in rows.items():
            model.row(terms, low=left[j])
        return model, patterns

    def _priced(self, worth: Mapping[str, float], left: Mapping[str, int]) -> bool:
        """New patterns that are worth more than their price; whether there are any."""
        before = len(self.known)
        for family in self._families:
            for size in family.sizes:
                self._new(family, size, self._items(family, size.id, left), worth)
        return len(self.known) > before

    def _new(self, family: Family, size: FlaskSize, items: list[tuple[str, int]], worth: Mapping[str, float]) -> None:
        """The best patterns, each of jobs that those before it leave aside."""
        for _ in range(AT_ONCE):
            used: set[str] = set()
            for contents in (self._by_metal(items, size.id, worth), self._by_rings(family, items, size.id, worth)):
                fitting = self._trimmed(contents, size.id, worth)
                if sum(worth.get(j, 0.0) * n for j, n in fitting.items()) > size.cost + GAIN:
                    self._learn(size.id, fitting)
                    used |= fitting.keys()
            items = [(j, n) for j, n in items if j not in used]
            if not used or not items:
                break

    def _trimmed(self, contents: Mapping[str, int], size: str, worth: Mapping[str, float]) -> dict[str, int]:
        """The contents without the pieces of least worth, until what is left fits."""
        rest = dict(contents)
        metal = self.trees.quick.metal
        while rest and not self.trees.fits(self.melt, size, rest):
            job = min(rest, key=lambda j: (worth.get(j, 0.0) / max(1, metal[j]), j))
            rest[job] -= self._unit(job)
            if rest[job] <= 0:
                del rest[job]
        return rest

    def _unit(self, job: str) -> int:
        """The fewest pieces that go together."""
        known = self.trees.problem.job[job]
        return 1 if known.may_split else self.wanted[job]

    def _items(self, family: Family, size: str, left: Mapping[str, int]) -> list[tuple[str, int]]:
        """Jobs, and how many times their fewest pieces go into this size."""
        jobs = [(j.id, min(family.most(j, size), left[j.id]) // self._unit(j.id)) for j in family.jobs if j.id in left]
        return [(j, n) for j, n in jobs if n > 0]

    def _by_metal(self, items: Sequence[tuple[str, int]], size: str, worth: Mapping[str, float]) -> dict[str, int]:
        """The best that the crucible holds, whatever the tree."""
        metal = {j: self.trees.quick.metal[j] * self._unit(j) for j, _ in items}
        room = self.trees.heaviest(self.melt, size)
        if not items or room <= 0:
            return {}
        exact = math.gcd(*metal.values())
        step = exact if exact and room // exact <= FINE else max(1, room // FINE)
        table = np.zeros(room // step + 1)
        kept: list[tuple[str, int, int, Chosen]] = []
        for j, number in items:
            weight = -(-metal[j] // step)
            for n in doublings(number):
                table, better = with_one_more(table, n * weight, n * self._unit(j) * worth.get(j, 0.0))
                kept.append((j, n * self._unit(j), n * weight, better))
        at, contents = len(table) - 1, dict[str, int]()
        for j, n, weight, better in reversed(kept):
            if better[at]:
                contents[j] = contents.get(j, 0) + n
                at -= weight
        return contents

    def _by_rings(self, family: Family, items: Sequence[tuple[str, int]], size: str, worth: Mapping[str, float]) -> dict[str, int]:
        """The best that a tree holds, whatever its metal; of jobs that may be split and go by rings."""
        rules, space = self.trees.problem.rules, self.trees.space(size)
        jobs = {j.id: j for j in family.jobs}
        plain = [
            Item(j, (jobs[j].size.width + rules.piece_gap).base, (jobs[j].size.height + rules.ring_gap).base, n)
            for j, n in items
            if jobs[j].may_split and not jobs[j].per_tree.get(size)
        ]
        if not plain:
            return {}
        plain.sort(key=lambda i: (i.height, i.width, i.job))
        cost = self.trees.problem.size[size].cost
        trunk = Trunk(size, space.circle.base, (space.height + rules.ring_gap).base, cost, tuple(plain))
        contents: dict[str, int] = {}
        while ring := _next_ring(trunk, worth):
            for j, n in ring.counts.items():
                contents[j] = contents.get(j, 0) + n
            trunk = _without(trunk, ring)
        return contents


def _next_ring(trunk: Trunk, worth: Mapping[str, float]) -> RingChoice | None:
    """Of the best rings for the trunk, had it enough of each piece, the tallest."""
    if not trunk.items:
        return None
    rings = best_rings(trunk, worth)
    chosen = best_trunk(trunk, rings)[1]
    return next((r for r in reversed(rings) if r.height in chosen and r.counts), None)


def _without(trunk: Trunk, ring: RingChoice) -> Trunk:
    """What is left of trunk and pieces."""
    height = trunk.height - ring.height
    left = (replace(i, number=i.number - ring.counts.get(i.job, 0)) for i in trunk.items)
    return replace(trunk, height=height, items=tuple(i for i in left if i.number > 0 and i.height <= height))


def _rounded(shares: Sequence[tuple[Pattern, float]], rng: random.Random | None) -> list[tuple[Pattern, int]]:
    """The patterns that are as good as whole, or else the one that is nearest to it, or with chance something like it."""
    sure = [(p, math.floor(x + 1 - SURE)) for p, x in shares if x >= SURE]
    if sure:
        return sure
    best = max(shares, key=lambda s: (s[1] * (rng.uniform(*LIKE) if rng else 1.0), s[0]), default=None)
    return [] if best is None else [(best[0], 1)]
