"""The cheapest charge in whole steps of the scale near one in fractions, found by looking at all of them.

Two or three metals leave some hundred ways to weigh: all are judged at once in floats, and those that seem to
hold, the cheapest first, in exact fractions.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import islice
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from domain.metallurgy.charge_lp import Row, Terms

MOST_WAYS = 200_000
"""More are not looked at."""
MOST_JUDGED = 300
"""in exact fractions"""
NEARLY = 1e-7
"""By so much a row may be missed in floats and still be judged exactly."""

Whole: TypeAlias = npt.NDArray[np.int64]


def cheapest_near(
    ranges: Sequence[tuple[int, int]],
    least: int,
    over: int,
    rows: Sequence[Row],
    cost: Terms,
    holds: Callable[[Sequence[int]], bool],
) -> tuple[bool, tuple[int, ...] | None]:
    """Of all whole numbers within ``ranges`` that add up to ``least``, or up to ``over`` more, the cheapest that keep
    ``rows`` and for which ``holds``; none where there are none. The first value: whether all were looked at."""
    ways = _ways(ranges, least, over)
    if ways is None:
        return False, None
    ways = ways[_keep(ways, rows)]
    costs = ways @ _values(cost, len(ranges))
    order = np.argsort(costs, kind="stable")
    for n in islice(order, MOST_JUDGED):
        found = tuple(int(x) for x in ways[n])
        if holds(found):
            return True, found
    return len(order) <= MOST_JUDGED, None


def _ways(ranges: Sequence[tuple[int, int]], least: int, over: int) -> Whole | None:
    """One row for each way. The widest range takes what the others leave of the sum."""
    widest = max(range(len(ranges)), key=lambda i: ranges[i][1] - ranges[i][0])
    others = [i for i in range(len(ranges)) if i != widest]
    count = over + 1
    for i in others:
        count *= ranges[i][1] - ranges[i][0] + 1
    if count > MOST_WAYS:
        return None
    axes = [np.arange(ranges[i][0], ranges[i][1] + 1) for i in others] + [np.arange(least, least + over + 1)]
    grid = np.stack([axis.ravel() for axis in np.meshgrid(*axes, indexing="ij")], axis=1)
    ways = np.empty((len(grid), len(ranges)), dtype=np.int64)
    ways[:, others] = grid[:, :-1]
    ways[:, widest] = grid[:, -1] - grid[:, :-1].sum(axis=1)
    low, high = ranges[widest]
    inside: Whole = ways[(ways[:, widest] >= low) & (ways[:, widest] <= high)]
    return inside


def _keep(ways: Whole, rows: Sequence[Row]) -> npt.NDArray[np.bool_]:
    kept = np.ones(len(ways), dtype=np.bool_)
    for row in rows:
        sums = ways @ _values(row.terms, ways.shape[1])
        if row.low is not None:
            kept &= sums >= float(row.low) - NEARLY
        if row.high is not None:
            kept &= sums <= float(row.high) + NEARLY
    return kept


def _values(terms: Terms, count: int) -> npt.NDArray[np.float64]:
    return np.array([terms[i].numerator / terms[i].denominator if i in terms else 0.0 for i in range(count)])
