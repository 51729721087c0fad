"""What the pieces in one flask may be worth at most, given a worth for each: rings first, then the trunk.

Any worths give a rule that every flask keeps: its pieces' worths add up to no more than the most that a
tree holds. The most is worked out exactly for the two-stage problem (Gilmore and Gomory, "Multistage
cutting stock problems of two and more dimensions", Operations Research 13, 1965): widths fill a ring, rings
fill the trunk. Each job's quantity limits a ring, not the whole tree, so the most is never too low. Good
worths are the prices of the linear program over such rings and trunks.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from domain.planning.search.columns_lp import Programme

FINE = 1_500
"""Steps of a ring or a trunk, above which lengths are rounded in the flask's favour."""
ROUNDS = 30
"""Rounds of new rings and trunks; worths are good for a rule after any of them."""


@dataclass(frozen=True, slots=True)
class Item:
    """Pieces of one job. ``width`` and ``height`` with their gaps, ``number`` of them in the week."""

    job: str
    width: int
    height: int
    number: int


Floats: TypeAlias = npt.NDArray[np.float64]
Chosen: TypeAlias = npt.NDArray[np.bool_]
Taken: TypeAlias = tuple[Item, int, list[tuple[int, Chosen]]]
"""A job, its width in steps, and where its parts are chosen."""


@dataclass(frozen=True, slots=True)
class Trunk:
    """A flask size to a melt: its circle, its height with one gap, its cost, and the jobs that it takes."""

    size: str
    circle: int
    height: int
    cost: int
    items: tuple[Item, ...]
    """by rising height"""


@dataclass(frozen=True, slots=True)
class RingChoice:
    height: int
    counts: dict[str, int]
    worth: float


def best_rings(trunk: Trunk, worth: Mapping[str, float]) -> list[RingChoice]:
    """For each height of a piece the ring of the greatest worth with no piece taller."""
    step = _step([i.width for i in trunk.items], trunk.circle)
    room = trunk.circle // step
    table = np.zeros(room + 1)
    taken: list[Taken] = []
    rings: list[RingChoice] = []
    for item in trunk.items:
        width = item.width // step
        kept: list[tuple[int, Chosen]] = []
        for n in doublings(min(item.number, room // max(1, width))):
            table, better = with_one_more(table, n * width, n * worth.get(item.job, 0.0))
            kept.append((n, better))
        taken.append((item, width, kept))
        rings.append(RingChoice(item.height, _back(taken, room), float(table[room])))
    return list({r.height: r for r in rings}.values())


def with_one_more(table: Floats, size: int, worth: float) -> tuple[Floats, Chosen]:
    """The table with one more thing to choose, and where it is chosen."""
    moved = np.full_like(table, -np.inf)
    if size < len(table):
        moved[size:] = table[: len(table) - size] + worth
    better = moved > table + 1e-12
    return np.where(better, moved, table), better


def _back(taken: Sequence[Taken], room: int) -> dict[str, int]:
    counts: dict[str, int] = {}
    for item, width, kept in reversed(taken):
        for n, better in reversed(kept):
            if better[room]:
                counts[item.job] = counts.get(item.job, 0) + n
                room -= n * width
    return counts


def doublings(number: int) -> list[int]:
    """Parts whose sums are all the numbers up to ``number``."""
    parts, part = [], 1
    while number > 0:
        parts.append(min(part, number))
        number -= part
        part *= 2
    return parts


def best_trunk(trunk: Trunk, rings: Sequence[RingChoice]) -> tuple[float, dict[int, int]]:
    """The greatest worth of rings on the trunk, and how many of each height."""
    step = _step([r.height for r in rings], trunk.height)
    room = trunk.height // step
    table = [0.0] * (room + 1)
    last = [-1] * (room + 1)
    for at in range(1, room + 1):
        table[at] = table[at - 1]
        for index, ring in enumerate(rings):
            size = max(1, ring.height // step)
            if size <= at and table[at - size] + ring.worth > table[at] + 1e-12:
                table[at], last[at] = table[at - size] + ring.worth, index
    counts: dict[int, int] = {}
    at = room
    while at > 0:
        if last[at] < 0:
            at -= 1
            continue
        ring = rings[last[at]]
        counts[ring.height] = counts.get(ring.height, 0) + 1
        at -= max(1, ring.height // step)
    return table[room], counts


def _step(lengths: Sequence[int], whole: int) -> int:
    """The unit of a table: what all lengths are multiples of, or, where that is too fine, one that rounds
    lengths down and the room up."""
    exact = math.gcd(*lengths)
    return exact if whole // max(1, exact) <= FINE else max(1, whole // FINE)


def most_worth(trunk: Trunk, worth: Mapping[str, float]) -> float:
    """No tree in this flask is worth more."""
    return best_trunk(trunk, best_rings(trunk, worth))[0] if trunk.items else 0.0


def good_worths(trunks: Sequence[Trunk], wanted: Mapping[str, int]) -> dict[str, float]:
    """Worths by job with which no flask is worth more than it costs and all wanted pieces together are
    worth as much as ``ROUNDS`` rounds find."""
    columns = _Columns(trunks, wanted, [(t.size, h, c) for t in trunks for h, c in _first_rings(t)])
    best: dict[str, float] = {}
    for _ in range(ROUNDS):
        worth = columns.prices()
        if worth is None:
            break
        most = columns.extended(worth)
        scaled = {j: w / max(1.0, most) for j, w in worth.items()}
        if _sum(scaled, wanted) > _sum(best, wanted):
            best = scaled
        if most <= 1 + 1e-6:
            break
    return best


def _sum(worth: Mapping[str, float], wanted: Mapping[str, int]) -> float:
    return sum(w * wanted[j] for j, w in worth.items())


def _first_rings(trunk: Trunk) -> list[tuple[int, dict[str, int]]]:
    return [(i.height, {i.job: max(1, min(i.number, trunk.circle // i.width))}) for i in trunk.items]


class _Columns:
    """The linear program over the rings and trunks known so far."""

    def __init__(self, trunks: Sequence[Trunk], wanted: Mapping[str, int], rings: list[tuple[str, int, dict[str, int]]]) -> None:
        self.trunks, self.wanted = trunks, wanted
        self.rings = rings
        self.full = [(t, {i.height: t.height // i.height}) for t in trunks for i in t.items]

    def prices(self) -> dict[str, float] | None:
        """What one more piece of each job would cost."""
        model = Programme()
        demand: dict[str, dict[int, float]] = {j: {} for j in self.wanted}
        classes: dict[tuple[str, int], dict[int, float]] = {(t.size, i.height): {} for t in self.trunks for i in t.items}
        for size, height, counts in self.rings:
            v = model.variable()
            classes[size, height][v] = -1.0
            for j, n in counts.items():
                demand[j][v] = float(n)
        for trunk, heights in self.full:
            v = model.variable(trunk.cost)
            for h, n in heights.items():
                classes[trunk.size, h][v] = float(n)
        rows = {j: model.row(terms, low=self.wanted[j]) for j, terms in demand.items() if terms}
        for terms in classes.values():
            model.row(terms, low=0)
        found = model.least()
        return None if found is None else {j: max(0.0, found.prices[r]) for j, r in rows.items()}

    def extended(self, worth: Mapping[str, float]) -> float:
        """Adds the best rings and trunks; the most that a flask is worth over its cost."""
        most = 0.0
        for trunk in self.trunks:
            rings = best_rings(trunk, worth)
            value, heights = best_trunk(trunk, rings)
            self.rings += [(trunk.size, r.height, r.counts) for r in rings if r.worth > 0 and self._fits(trunk, r)]
            self.full.append((trunk, heights))
            most = max(most, value / trunk.cost if trunk.cost else float(value > 0) * 10**9)
        return most

    def _fits(self, trunk: Trunk, ring: RingChoice) -> bool:
        return bool(ring.counts) and ring.height <= trunk.height
