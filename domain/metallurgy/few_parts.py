"""Fewer metals to weigh, where the cost hardly differs."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from domain.metallurgy.blend import Asked, best_blend, preferences
from domain.metallurgy.charge_lp import Terms
from domain.metallurgy.melt import Offer

WORTH = Fraction(5, 1000)
"""A further fresh metal is weighed only where it saves this share of the cost. Common practice, no
source: each more metal on the scale is a chance to err."""
USED = Fraction(1, 1000)
"""of a step of the scale; less is the solver's noise"""


def with_few_parts(asked: Asked, offers: Sequence[Offer], blend: Sequence[Fraction]) -> tuple[Fraction, ...]:
    """``blend`` again, without the fresh metals that hardly save anything, least mass first.

    Neither the cost of what is ordered nor the cost in all rises by more than ``WORTH``; recycled
    metal is never dropped.
    """
    limits = [_value(terms, blend) * (1 + WORTH) for terms in _costs(asked, offers)]
    everything = set(range(len(offers)))
    best = tuple(blend)
    for i in sorted((i for i in _used(best) if not offers[i].recycled), key=lambda i: best[i]):
        for others in (set(_used(best)) - {i}, everything - {i}):
            trial = _only(asked, offers, sorted(others))
            if trial and len(_used(trial)) < len(_used(best)) and _within(asked, offers, trial, limits):
                best, everything = trial, others
                break
    return best


def _only(asked: Asked, offers: Sequence[Offer], kept: Sequence[int]) -> tuple[Fraction, ...] | None:
    """The best blend of the ``kept`` offers, the others at zero."""
    found = best_blend(asked, [offers[i] for i in kept])
    if found is None:
        return None
    values = dict(zip(kept, found, strict=True))
    return tuple(values.get(i, Fraction(0)) for i in range(len(offers)))


def _within(asked: Asked, offers: Sequence[Offer], blend: Sequence[Fraction], limits: Sequence[Fraction]) -> bool:
    return all(_value(terms, blend) <= limit for terms, limit in zip(_costs(asked, offers), limits, strict=True))


def _costs(asked: Asked, offers: Sequence[Offer]) -> list[Terms]:
    return preferences(offers, asked.step)[:2]


def _value(terms: Terms, blend: Sequence[Fraction]) -> Fraction:
    return sum((c * blend[i] for i, c in terms.items()), Fraction(0))


def _used(blend: Sequence[Fraction]) -> list[int]:
    return [i for i, x in enumerate(blend) if x > USED]
