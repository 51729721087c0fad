"""What casting costs in metal: the loss of each flask, and whether it is like the others.

The chart is that of individual values with moving ranges: limits stand three estimated standard
deviations from the mean, the deviation being the mean moving range over d₂ = 1.128 (NIST/SEMATECH
e-Handbook of Statistical Methods, 6.3.2.2), which is 2.66 mean moving ranges.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from itertools import pairwise
from math import ceil, floor

from domain.units import Mass, Share, total

D2 = Fraction(1128, 1000)
"""Mean range of two values, in standard deviations."""
ENOUGH = 12
"""Casts of an alloy from which on its own history gives limits. Common practice, no source."""
MILLION = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class FlaskLoss:
    """One cast: what was charged, what the castings weighed, what came back as button and sprues, weighed before
    cleaning. ``cleaned_off``: what cleaning took off these, investment and metal."""

    flask: str
    alloy: str
    day: date
    charged: Mass
    castings: Mass
    returned: Mass
    cleaned_off: Mass = Mass(0)

    @property
    def lost(self) -> Mass:
        return Mass(self.charged.base - self.castings.base - self.returned.base)

    @property
    def share(self) -> Share:
        """Of the charge, to the nearest millionth."""
        charged, lost = self.charged.base, self.charged.base - self.castings.base - self.returned.base
        return Share((2 * MILLION * lost + charged) // (2 * charged)) if charged else Share(0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """``low`` may be less than nothing, which no loss can be."""

    mean: Fraction
    low: Fraction
    high: Fraction


def limits_of(values: Sequence[Fraction | int]) -> Limits:
    """The limits of individual values in the order in which they were had. Raises ``ValueError`` for fewer than two."""
    if len(values) < 2:
        raise ValueError("a moving range takes two values")
    mean = Fraction(sum(values)) / len(values)
    ranges = sum(max(a, b) - min(a, b) for a, b in pairwise(values))
    reach = 3 * Fraction(ranges) / (len(values) - 1) / D2
    return Limits(mean=mean, low=mean - reach, high=mean + reach)


@dataclass(frozen=True, slots=True, kw_only=True)
class LossChart:
    """The casts of one alloy in their order. ``limits`` in parts per million of the charge; none before there
    are ``ENOUGH`` casts."""

    alloy: str
    casts: tuple[FlaskLoss, ...]
    limits: Limits | None

    @property
    def outliers(self) -> tuple[FlaskLoss, ...]:
        if self.limits is None:
            return ()
        # shares are whole: whole limits tell the same, and quickly
        low, high = ceil(self.limits.low), floor(self.limits.high)
        return tuple(c for c in self.casts if not low <= c.share.base <= high)

    def odd(self, cast: FlaskLoss) -> bool:
        """Whether more or less was lost than the limits let expect."""
        return self.limits is not None and not self.limits.low <= cast.share.base <= self.limits.high


def loss_charts(casts: Iterable[FlaskLoss]) -> tuple[LossChart, ...]:
    """One chart for each alloy. ``casts`` in their order."""
    by_alloy: dict[str, list[FlaskLoss]] = {}
    for cast in casts:
        by_alloy.setdefault(cast.alloy, []).append(cast)
    return tuple(_chart(alloy, mine) for alloy, mine in sorted(by_alloy.items()))


def _chart(alloy: str, casts: Sequence[FlaskLoss]) -> LossChart:
    limits = limits_of([c.share.base for c in casts]) if len(casts) >= ENOUGH else None
    return LossChart(alloy=alloy, casts=tuple(casts), limits=limits)


@dataclass(frozen=True, slots=True, kw_only=True)
class LossSum:
    """``month``: as in 2026-03; ``flasks``: how many were cast."""

    month: str
    alloy: str
    flasks: int
    charged: Mass
    castings: Mass
    returned: Mass
    lost: Mass
    cleaned_off: Mass

    @property
    def yielded(self) -> Share:
        """Castings of the charge."""
        return Share(round(Fraction(self.castings.base * MILLION, self.charged.base))) if self.charged.base else Share(0)

    @property
    def share(self) -> Share:
        return Share(round(Fraction(self.lost.base * MILLION, self.charged.base))) if self.charged.base else Share(0)


def by_month(casts: Iterable[FlaskLoss]) -> tuple[LossSum, ...]:
    """Sums by month and alloy, the newest month first."""
    groups: dict[tuple[str, str], list[FlaskLoss]] = {}
    for cast in casts:
        groups.setdefault((f"{cast.day:%Y-%m}", cast.alloy), []).append(cast)
    sums = [_sum(month, alloy, mine) for (month, alloy), mine in sorted(groups.items())]
    return tuple(sorted(sums, key=lambda s: s.month, reverse=True))


def _sum(month: str, alloy: str, casts: Sequence[FlaskLoss]) -> LossSum:
    return LossSum(
        month=month,
        alloy=alloy,
        flasks=len(casts),
        charged=total(Mass, (c.charged for c in casts)),
        castings=total(Mass, (c.castings for c in casts)),
        returned=total(Mass, (c.returned for c in casts)),
        lost=total(Mass, (c.lost for c in casts)),
        cleaned_off=total(Mass, (c.cleaned_off for c in casts)),
    )
