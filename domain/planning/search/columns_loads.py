"""All the ways in which flasks fill a kiln's floor: how many of each size stand together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import TypeAlias

Counts: TypeAlias = tuple[int, ...]
"""By size, in the order asked for."""

MANY = 1_500
"""Loads in the making, above which a floor is taken as its area."""


@lru_cache(maxsize=64)
def full_loads(sides: tuple[int, ...], width: int, depth: int) -> tuple[Counts, ...] | None:
    """The loads to which nothing can be added. ``sides``: diameter and gap of each size, 0 for a size that
    does not go into the chamber; ``width`` and ``depth`` less one gap. None where there are too many."""
    rows = _rows(sides, width)
    if rows is None:
        return None
    known = {((0,) * len(sides), 0)}
    found: set[Counts] = set()
    while known:
        more = {s: [(_add(s[0], row), s[1] + deep) for row, deep in rows if s[1] + deep <= depth] for s in known}
        found |= {counts for (counts, _), after in more.items() if not after}
        known = {state for after in more.values() for state in after}
        if len(known) > MANY or len(found) > MANY:
            return None
    return tuple(sorted(_largest(found)))


def _rows(sides: Sequence[int], width: int) -> list[tuple[Counts, int]] | None:
    """Rows to which nothing of the same depth can be added, with their depth."""
    rows: list[tuple[Counts, int]] = []
    for deepest in sorted({s for s in sides if 0 < s <= width}):
        inside = [s if s <= deepest else 0 for s in sides]
        fills = list(_fills(inside, width))
        if len(fills) > MANY:
            return None
        rows += [(fill, deepest) for fill in _largest(set(fills))]
    return rows


def _fills(sides: Sequence[int], width: int) -> Iterator[Counts]:
    if not sides:
        yield ()
        return
    first, *rest = sides
    for n in range(width // first if first else 0, -1, -1):
        for others in _fills(rest, width - n * first):
            yield (n, *others)


def _add(one: Counts, other: Counts) -> Counts:
    return tuple(a + b for a, b in zip(one, other, strict=True))


def _largest(counts: set[Counts]) -> list[Counts]:
    """Those that no other one holds."""
    kept: list[Counts] = []
    for c in sorted(counts, key=sum, reverse=True):
        if not any(all(a <= b for a, b in zip(c, k, strict=True)) for k in kept):
            kept.append(c)
    return kept
