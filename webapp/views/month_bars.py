"""Yield and loss over the months: a bar for each month of an alloy, parted into castings, what came back and what was lost."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from domain.stock.loss import FlaskLoss, LossSum, by_month
from webapp import formats

WIDTH, HEIGHT = 720.0, 200.0
LEFT, RIGHT, TOP, BOTTOM = 52.0, 12.0, 30.0, 26.0
WIDEST = 90.0
SHOWN = 12
"""months of an alloy that a drawing shows, the newest"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bar:
    """From above: lost from ``top`` to ``lost``, came back to ``returned``, castings to the base."""

    x: float
    width: float
    top: float
    lost: float
    returned: float
    label: str
    sum: LossSum


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthBars:
    """``levels``: height and percent."""

    alloy: str
    name: str
    bars: tuple[Bar, ...]
    levels: tuple[tuple[float, int], ...]
    width: float = WIDTH
    height: float = HEIGHT
    left: float = LEFT
    right: float = WIDTH - RIGHT
    base: float = HEIGHT - BOTTOM


def month_bars(casts: Iterable[FlaskLoss], names: Mapping[str, str]) -> tuple[MonthBars, ...]:
    """One drawing for each alloy, the newest months on the right."""
    sums: dict[str, list[LossSum]] = {}
    for line in reversed(by_month(casts)):
        if line.charged.base:
            sums.setdefault(line.alloy, []).append(line)
    return tuple(_drawing(alloy, names.get(alloy, alloy), mine[-SHOWN:]) for alloy, mine in sorted(sums.items()))


def _y(part: float) -> float:
    """The place of a share of the charge; more than all and less than nothing end at the edges."""
    return round(TOP + (HEIGHT - TOP - BOTTOM) * (1 - min(max(part, 0.0), 1.0)), 1)


def _drawing(alloy: str, name: str, sums: list[LossSum]) -> MonthBars:
    step = (WIDTH - LEFT - RIGHT) / len(sums)
    width = min(WIDEST, step * 0.7)
    bars = tuple(_bar(line, round(LEFT + step * (n + 0.5) - width / 2, 1), round(width, 1)) for n, line in enumerate(sums))
    return MonthBars(alloy=alloy, name=name, bars=bars, levels=tuple((_y(n / 100), n) for n in (0, 25, 50, 75, 100)))


def _bar(line: LossSum, x: float, width: float) -> Bar:
    castings, returned = line.castings.base / line.charged.base, line.returned.base / line.charged.base
    label = formats.month(date.fromisoformat(f"{line.month}-01"))
    return Bar(x=x, width=width, top=_y(1.0), lost=_y(castings + returned), returned=_y(castings), label=label, sum=line)
