"""A metal over the coming days as a line: what is on the shelf at the end of each, what comes, where it is lowest."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from domain.stock.position import MetalDay, MetalPosition
from domain.units import Mass

WIDTH, HEIGHT = 460.0, 150.0
LEFT, RIGHT, TOP, BOTTOM = 74.0, 14.0, 26.0, 26.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PositionMark:
    """Something that comes on a day: ``kind`` returns or deliveries."""

    x: float
    y: float
    kind: str
    mass: Mass


@dataclass(frozen=True, slots=True, kw_only=True)
class PositionDrawing:
    """``points``: what an SVG polyline takes. ``levels``: mass and height of the lines across. ``low_x`` and
    ``low_y``: the low point. ``days``: the same as a table."""

    key: str
    name: str
    width: float
    height: float
    left: float
    right: float
    base: float
    zero: float
    points: str
    levels: tuple[tuple[float, Mass], ...]
    names: tuple[tuple[float, str], ...]
    marks: tuple[PositionMark, ...]
    low: Mass
    low_day: str
    low_x: float
    low_y: float
    days: tuple[MetalDay, ...]


def position_drawing(position: MetalPosition) -> PositionDrawing:
    days = position.days
    highest = max(0, *(max(d.opening.base, d.closing.base) for d in days))
    lowest = min(0, *(d.closing.base for d in days))
    span = max(1, highest - lowest)
    step = (WIDTH - LEFT - RIGHT) / len(days)

    def x(n: int) -> float:
        return round(LEFT + step * n, 1)

    def y(mass: Mass) -> float:
        return round(TOP + (HEIGHT - TOP - BOTTOM) * (highest - mass.base) / span, 1)

    low = next(n for n, d in enumerate(days) if d.date == position.low_day)
    return PositionDrawing(
        key=position.key,
        name=position.name,
        width=WIDTH,
        height=HEIGHT,
        left=LEFT,
        right=WIDTH - RIGHT,
        base=HEIGHT - BOTTOM,
        zero=y(Mass(0)),
        points=_points([(x(n), x(n + 1), y(d.closing)) for n, d in enumerate(days)]),
        levels=tuple((y(Mass(b)), Mass(b)) for b in sorted({lowest, 0, highest})),
        names=tuple((round(x(n) + step / 2, 1), d.date) for n, d in enumerate(days) if n % _every(step) == 0),
        marks=tuple(_marks(days, x, y, step)),
        low=position.low,
        low_day=position.low_day,
        low_x=round(x(low) + step / 2, 1),
        low_y=y(position.low),
        days=days,
    )


def _points(steps: Sequence[tuple[float, float, float]]) -> str:
    return " ".join(f"{a},{height} {b},{height}" for a, b, height in steps)


def _every(step: float) -> int:
    """Names of days do not touch."""
    return max(1, -int(-46 // step))


def _marks(days: Sequence[MetalDay], x: Callable[[int], float], y: Callable[[Mass], float], step: float) -> list[PositionMark]:
    found: list[PositionMark] = []
    for n, day in enumerate(days):
        for kind, mass, part in (("deliveries", day.deliveries, 0.35), ("returns", day.returns, 0.65)):
            if mass.base:
                found.append(PositionMark(x=round(x(n) + step * part, 1), y=y(day.closing), kind=kind, mass=mass))
    return found
