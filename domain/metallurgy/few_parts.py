"""Fewer metals to weigh, where the cost hardly differs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from domain.metallurgy.blend import Asked, blend_program
from domain.metallurgy.charge_lp import Program, Terms, minimise
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
    program = blend_program(asked, offers)
    costs = program.objectives[:2]
    limits = [_value(terms, blend) * (1 + WORTH) for terms in costs]
    everything = set(range(len(offers)))
    best = tuple(blend)
    for i in sorted((i for i in _used(best) if not offers[i].recycled), key=lambda i: best[i]):
        for others in (set(_used(best)) - {i}, everything - {i}):
            trial = minimise(_only(program, others))
            if (
                trial
                and len(_used(trial)) < len(_used(best))
                and all(_value(c, trial) <= m for c, m in zip(costs, limits, strict=True))
            ):
                best, everything = trial, others
                break
    return best


def _only(program: Program, others: set[int]) -> Program:
    """The program with only the ``others`` above zero."""
    bounds = [(low, high if i in others else Fraction(0)) for i, (low, high) in enumerate(program.bounds)]
    return replace(program, bounds=bounds)


def _value(terms: Terms, blend: Sequence[Fraction]) -> Fraction:
    return sum((c * blend[i] for i, c in terms.items()), Fraction(0))


def _used(blend: Sequence[Fraction]) -> list[int]:
    return [i for i, x in enumerate(blend) if x > USED]
