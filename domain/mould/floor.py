"""Flasks in rows on a kiln floor.

Rows run across the width. Each flask needs its outer diameter and the kiln's gap to its neighbours and
to the walls; a row is as deep as its widest flask. Rows are levels in the sense of ``levels``.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from domain.mould.levels import Boxes, fits_height, least_levels
from domain.shop.burnout import Kiln
from domain.shop.flask import FlaskSize
from domain.units import Length


@dataclass(frozen=True, slots=True)
class Standing:
    """A flask on the floor."""

    id: str
    diameter: Length
    height: Length


def rows_on_floor(flasks: Sequence[Standing], kiln: Kiln) -> tuple[tuple[str, ...], ...] | None:
    """The rows of flask ids, the deepest row first, in the least depth; none where they do not all fit.
    Least unless the search meets its limit, never deeper than first-fit."""
    if any(not stands(f.height, kiln) for f in flasks):
        return None
    queues: dict[int, list[str]] = {}
    for flask in flasks:
        queues.setdefault(flask.diameter.base, []).append(flask.id)
    boxes = [_box(Length(diameter), kiln, len(ids)) for diameter, ids in queues.items()]
    levels = least_levels(boxes, kiln.width.base - kiln.gap.base)
    if levels is None or _depth(levels, boxes) > kiln.depth.base - kiln.gap.base:
        return None
    waiting = [iter(ids) for ids in queues.values()]
    return tuple(tuple(_row(fill, waiting)) for fill in levels)


def stands(height: Length, kiln: Kiln) -> bool:
    """Whether a flask of this height goes into the chamber with the kiln's gap above it."""
    return height.base + kiln.gap.base <= kiln.height.base


def fits_floor(sizes: Sequence[tuple[FlaskSize, int]], kiln: Kiln) -> bool:
    """Whether so many flasks of each size stand in the kiln together."""
    sizes = [(size, n) for size, n in sizes if n]
    if any(not stands(size.height, kiln) for size, _ in sizes):
        return False
    boxes = [_box(size.outer_diameter, kiln, n) for size, n in sizes]
    return fits_height(boxes, kiln.width.base - kiln.gap.base, kiln.depth.base - kiln.gap.base)


def _box(diameter: Length, kiln: Kiln, number: int) -> Boxes:
    side = max(1, diameter.base + kiln.gap.base)
    return Boxes(side, side, number)


def _depth(levels: Sequence[Sequence[int]], boxes: Sequence[Boxes]) -> int:
    return sum(max(b.height for b, n in zip(boxes, fill, strict=True) if n) for fill in levels)


def _row(fill: Sequence[int], waiting: Sequence[Iterator[str]]) -> list[str]:
    return [next(ids) for n, ids in zip(fill, waiting, strict=True) for _ in range(n)]


@dataclass(frozen=True, slots=True, kw_only=True)
class FloorCounts:
    """``counts``: how many of each size stand together, in the order of the sizes asked for; no more
    of any size fits beside one of them. ``complete``: false where there were more than the limit."""

    counts: tuple[tuple[int, ...], ...]
    complete: bool


def maximal_counts(sizes: Sequence[FlaskSize], kiln: Kiln, limit: int = 500) -> FloorCounts:
    """The fullest loads of a kiln, no size beyond what the shop owns; ``limit`` of them at most."""
    found: list[tuple[int, ...]] = []
    for counts in _full_loads(sizes, kiln, ()):
        if len(found) == limit:
            return FloorCounts(counts=tuple(found), complete=False)
        if all(_cannot_take_more(sizes, kiln, counts, i) for i in range(len(sizes))):
            found.append(counts)
    return FloorCounts(counts=tuple(found), complete=True)


def _full_loads(sizes: Sequence[FlaskSize], kiln: Kiln, counts: tuple[int, ...]) -> Iterator[tuple[int, ...]]:
    """Each load with as many as fit of the last size, given the sizes before it."""
    if len(counts) == len(sizes):
        yield counts
        return
    most = _most(sizes, kiln, counts)
    last = len(counts) == len(sizes) - 1
    for n in range(most, most - 1 if last else -1, -1):
        yield from _full_loads(sizes, kiln, (*counts, n))


def _most(sizes: Sequence[FlaskSize], kiln: Kiln, counts: tuple[int, ...]) -> int:
    chosen = list(zip(sizes, counts, strict=False))
    size = sizes[len(counts)]
    low, high = 0, size.owned
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if fits_floor([*chosen, (size, middle)], kiln) else (low, middle - 1)
    return low


def _cannot_take_more(sizes: Sequence[FlaskSize], kiln: Kiln, counts: tuple[int, ...], index: int) -> bool:
    if counts[index] >= sizes[index].owned:
        return True
    more = [(size, n + (i == index)) for i, (size, n) in enumerate(zip(sizes, counts, strict=True))]
    return not fits_floor(more, kiln)
