"""Losses as pages show them: sums by month, and each alloy's casts in a chart with its limits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from domain.saying import say
from domain.stock.loss import ENOUGH, FlaskLoss, LossChart, LossSum, by_month, loss_charts
from domain.units import Mass, Share, total

WIDTH, HEIGHT = 720.0, 190.0
LEFT, RIGHT, TOP, BOTTOM = 64.0, 100.0, 18.0, 26.0
SHOWN = 60
"""casts of an alloy that a drawing shows, the newest"""
MONTH = timedelta(days=30)


@dataclass(frozen=True, slots=True, kw_only=True)
class LossPoint:
    x: float
    y: float
    cast: FlaskLoss
    odd: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LossDrawing:
    """``lines``: height, name and share of mean and limits; none where there are too few casts for them, which
    ``wanting`` counts. ``usual``: the loss that the alloy is planned with."""

    alloy: str
    name: str
    width: float
    height: float
    left: float
    right: float
    base: float
    points: tuple[LossPoint, ...]
    line: str
    lines: tuple[tuple[float, str, Share], ...]
    levels: tuple[tuple[float, Share], ...]
    wanting: int
    usual: Share | None


@dataclass(frozen=True, slots=True, kw_only=True)
class MonthLoss:
    """What was lost since ``since``. ``by_alloy``: name, mass and share of the charge; ``odd``: casts outside
    the limits, with the alloy's name."""

    since: date
    flasks: int
    charged: Mass
    lost: Mass
    by_alloy: tuple[tuple[str, Mass, Share], ...]
    odd: tuple[tuple[FlaskLoss, str], ...]

    @property
    def share(self) -> Share:
        return _share(self.lost, self.charged)


def _share(part: Mass, whole: Mass) -> Share:
    return Share(round(Fraction(part.base * 1_000_000, whole.base))) if whole.base else Share(0)


def month_loss(casts: Sequence[FlaskLoss], names: Mapping[str, str], today: date) -> MonthLoss:
    """The last thirty days, judged by limits from all of the history."""
    since = today - MONTH
    recent = [c for c in casts if c.day > since]
    odd = {id(c) for chart in loss_charts(casts) for c in chart.outliers}
    sums: dict[str, tuple[Mass, Mass]] = {}
    for cast in recent:
        lost, charged = sums.get(cast.alloy, (Mass(0), Mass(0)))
        sums[cast.alloy] = (lost + cast.lost, charged + cast.charged)
    return MonthLoss(
        since=since,
        flasks=len(recent),
        charged=total(Mass, (c.charged for c in recent)),
        lost=total(Mass, (c.lost for c in recent)),
        by_alloy=tuple(
            (names.get(a, a), lost, _share(lost, whole))
            for a, (lost, whole) in sorted(sums.items(), key=lambda one: -one[1][0].base)
        ),
        odd=tuple((c, names.get(c.alloy, c.alloy)) for c in recent if id(c) in odd),
    )


def month_lines(casts: Sequence[FlaskLoss], names: Mapping[str, str]) -> tuple[tuple[LossSum, str], ...]:
    """Sums by month and alloy, with the alloy's name."""
    return tuple((line, names.get(line.alloy, line.alloy)) for line in by_month(casts))


def loss_drawings(casts: Sequence[FlaskLoss], names: Mapping[str, str], usual: Mapping[str, Share]) -> tuple[LossDrawing, ...]:
    """One for each alloy."""
    return tuple(_drawing(chart, names.get(chart.alloy, chart.alloy), usual.get(chart.alloy)) for chart in loss_charts(casts))


def _drawing(chart: LossChart, name: str, usual: Share | None) -> LossDrawing:
    shown = chart.casts[-SHOWN:]
    limits = chart.limits
    tops = [c.share.base for c in shown] + ([round(limits.high)] if limits else [])
    lows = [c.share.base for c in shown] + ([max(0, round(limits.low))] if limits else [])
    highest, lowest = max(1, *tops) * 11 // 10, min(0, *lows)
    step = (WIDTH - LEFT - RIGHT) / max(1, len(shown))

    def y(ppm: Fraction | int) -> float:
        return round(TOP + (HEIGHT - TOP - BOTTOM) * float(highest - ppm) / (highest - lowest), 1)

    points = tuple(
        LossPoint(x=round(LEFT + step * (n + 0.5), 1), y=y(c.share.base), cast=c, odd=chart.odd(c)) for n, c in enumerate(shown)
    )
    words = [(say("upper limit"), limits.high), (say("mean"), limits.mean), (say("lower limit"), limits.low)] if limits else []
    return LossDrawing(
        alloy=chart.alloy,
        name=name,
        width=WIDTH,
        height=HEIGHT,
        left=LEFT,
        right=WIDTH - RIGHT,
        base=HEIGHT - BOTTOM,
        points=points,
        line=" ".join(f"{p.x},{p.y}" for p in points),
        lines=tuple((y(value), word, Share(round(value))) for word, value in words if value > lowest),
        levels=tuple((y(ppm), Share(ppm)) for ppm in sorted({lowest, 0, highest})),
        wanting=max(0, ENOUGH - len(chart.casts)),
        usual=usual,
    )
