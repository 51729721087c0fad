"""Level packing: boxes side by side in levels of one width, in the least height.

Rings on a trunk and rows on a kiln floor are both this problem. Whole numbers in, whole numbers out;
callers add their gaps to widths and heights first. Exact unless the search meets its step limit, and
never worse than first-fit by decreasing height (Coffman, Garey, Johnson, Tarjan, "Performance bounds
for level-oriented two-dimensional packing algorithms", SIAM J. Comput. 9, 1980).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import NamedTuple, TypeAlias

STEP_LIMIT = 4_000
"""Steps before the search settles for the best packing so far, a few milliseconds."""


class Boxes(NamedTuple):
    """``number`` equal boxes."""

    width: int
    height: int
    number: int


Fill: TypeAlias = tuple[int, ...]
"""How many of each kind of box stand in one level."""


def least_levels(kinds: Sequence[Boxes], width: int) -> tuple[Fill, ...] | None:
    """The levels, tallest first, each as counts in the order of ``kinds``; none where a box is wider
    than ``width``. The sum of the levels' tallest boxes is least."""
    order = sorted((i for i, k in enumerate(kinds) if k.number), key=lambda i: (-kinds[i].height, -kinds[i].width))
    packed = _packed(tuple(kinds[i] for i in order), width)
    if packed is None:
        return None
    return tuple(_spread(fill, order, len(kinds)) for fill in packed)


def fits_height(kinds: Sequence[Boxes], width: int, height: int) -> bool:
    """Whether the levels fit a height; quicker than packing when the answer is plain."""
    ordered = tuple(sorted((k for k in kinds if k.number), key=lambda k: (-k.height, -k.width)))
    if any(k.width > width for k in ordered) or _bound(ordered, tuple(k.number for k in ordered), width) > height:
        return False
    if _height(_first_fit(ordered, width), ordered) <= height:
        return True
    packed = _packed(ordered, width)
    return packed is not None and _height(packed, ordered) <= height


def first_fit_height(kinds: Sequence[Boxes], width: int) -> int:
    """The height that first-fit by decreasing height takes; every box fits ``width``."""
    height, free = 0, list[int]()
    for box, tall, number in sorted(kinds, key=_tallest_first):
        left = number
        for level, room in enumerate(free):
            if room >= box:
                taken = min(left, room // box)
                free[level] = room - taken * box
                left -= taken
        if left > 0:
            each = width // box
            opened, rest = divmod(left, each)
            free += [width - each * box] * opened + ([width - rest * box] if rest else [])
            height += tall * (opened + (rest > 0))
    return height


def _tallest_first(kind: Boxes) -> tuple[int, int]:
    return -kind.height, -kind.width


def _spread(fill: Fill, order: Sequence[int], size: int) -> Fill:
    counts = [0] * size
    for count, index in zip(fill, order, strict=True):
        counts[index] = count
    return tuple(counts)


def _height(levels: Sequence[Fill], kinds: Sequence[Boxes]) -> int:
    return sum(next(k.height for k, n in zip(kinds, fill, strict=True) if n) for fill in levels)


@lru_cache(maxsize=65_536)
def _packed(kinds: tuple[Boxes, ...], width: int) -> tuple[Fill, ...] | None:
    if any(k.width > width for k in kinds):
        return None
    start = _first_fit(kinds, width)
    counts = tuple(k.number for k in kinds)
    if _height(start, kinds) == _bound(kinds, counts, width):
        return start
    search = _Search(kinds, width, start)
    search.descend(counts, 0, [])
    return search.best


def _first_fit(kinds: Sequence[Boxes], width: int) -> tuple[Fill, ...]:
    levels: list[list[int]] = []
    free: list[int] = []
    for index, kind in enumerate(kinds):
        left = kind.number
        for level, room in enumerate(free):
            taken = min(left, room // kind.width)
            levels[level][index] += taken
            free[level] -= taken * kind.width
            left -= taken
        while left:
            taken = min(left, width // kind.width)
            levels.append([0] * index + [taken] + [0] * (len(kinds) - index - 1))
            free.append(width - taken * kind.width)
            left -= taken
    return tuple(tuple(level) for level in levels)


def _bound(kinds: Sequence[Boxes], counts: Sequence[int], width: int) -> int:
    """No packing is lower: the first j levels hold at most j widths of the tallest boxes, so the next
    one is at least as tall as the box with which that is passed."""
    height = covered = levels = 0
    for kind, count in zip(kinds, counts, strict=True):
        covered += kind.width * count
        needed = -(-covered // width)
        height += (needed - levels) * kind.height
        levels = needed
    return height


class _Search:
    """Branch and bound over the fill of one level after another, each opened by the tallest box left."""

    def __init__(self, kinds: tuple[Boxes, ...], width: int, start: tuple[Fill, ...]) -> None:
        self.kinds = kinds
        self.width = width
        self.best = start
        self.best_height = _height(start, kinds)
        self.least = _bound(kinds, [k.number for k in kinds], width)
        self.seen: dict[tuple[int, ...], int] = {}
        self.steps = 0

    def descend(self, left: tuple[int, ...], height: int, levels: list[Fill]) -> None:
        if not any(left):
            self.best, self.best_height = tuple(levels), height
            return
        opener = next(i for i, n in enumerate(left) if n)
        below = height + self.kinds[opener].height
        for fill in self._fills(left, opener):
            if self.best_height == self.least:
                return
            rest = tuple(n - m for n, m in zip(left, fill, strict=True))
            if below + _bound(self.kinds, rest, self.width) < self.best_height and below < self.seen.get(rest, below + 1):
                self.seen[rest] = below
                self.descend(rest, below, [*levels, fill])

    def _fills(self, left: tuple[int, ...], opener: int) -> Iterator[Fill]:
        """Fills that no other beats, fullest first."""
        stack: list[tuple[int, Fill, int]] = [(opener, (0,) * opener, self.width)]
        while stack and self.steps < STEP_LIMIT:
            self.steps += 1
            index, fill, free = stack.pop()
            if index == len(left):
                if not self._beaten(left, fill, free):
                    yield fill
                continue
            width = self.kinds[index].width
            least = 1 if index == opener else 0
            for n in range(least, min(left[index], free // width) + 1):
                stack.append((index + 1, (*fill, n), free - n * width))

    def _beaten(self, left: tuple[int, ...], fill: Fill, free: int) -> bool:
        """Another box would fit too, or a box could give its place to one as tall and as wide: neither
        change makes the levels that follow taller."""
        waiting: list[int] = []
        for kind, n, m in zip(self.kinds, left, fill, strict=True):
            if m < n and kind.width <= free:
                return True
            if m and any(kind.width <= wide <= kind.width + free for wide in waiting):
                return True
            if m < n:
                waiting.append(kind.width)
        return False
