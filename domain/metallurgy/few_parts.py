"""Fewer metals to weigh, where the cost hardly differs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from domain.metallurgy.blend import Asked, blend_program
from domain.metallurgy.charge_lp import Prepared, Program, SolverFailed, Terms
from domain.metallurgy.melt import Offer

WORTH = Fraction(5, 1000)
"""A further fresh metal is weighed only where it saves this share of the cost. Common practice, no
source: each more metal on the scale is a chance to err."""
USED = Fraction(1, 1000)
"""of a step of the scale; less is the solver's noise"""


CRUMB = Fraction(1, 100)
"""A recycled part of less than this share of the charge may be left out as well."""


def with_few_parts(asked: Asked, offers: Sequence[Offer], blend: Sequence[Fraction]) -> tuple[Fraction, ...]:
    """``blend`` again, without what hardly saves anything.

    First two fresh metals are tried in place of three or more: the dearest with each other one. Then
    crumbs are left out together and what may go one by one, least mass first. Neither the cost of what is ordered nor the cost
    in all rises by more than ``WORTH``; recycled metal is kept, but for crumbs.
    """
    program = blend_program(asked, offers)
    few = _Few(program, tuple(blend), [_value(terms, blend) * (1 + WORTH) for terms in program.objectives[:2]])
    fresh = [i for i in _used(blend) if not offers[i].recycled]
    if len(fresh) > 2:
        dearest = max(fresh, key=lambda i: offers[i].cost * blend[i])
        kept = {i for i in _used(blend) if offers[i].recycled} | {dearest}
        few.try_each(kept | {i} for i, offer in enumerate(offers) if not offer.recycled)
    dropped: set[int] = set()
    crumbs = {i for i in _used(few.best) if offers[i].recycled and few.best[i] < CRUMB * asked.steps}
    if crumbs and few.try_each([set(_used(few.best)) - crumbs, set(range(len(offers))) - crumbs]):
        dropped = crumbs
    droppable = [i for i in _used(few.best) if not offers[i].recycled or few.best[i] < CRUMB * asked.steps]
    for i in sorted(droppable, key=lambda i: few.best[i]):
        if few.try_each([set(_used(few.best)) - {i}, set(range(len(offers))) - dropped - {i}]):
            dropped.add(i)
    return few.best


class _Few:
    """The best blend so far, and what a better one may cost."""

    def __init__(self, program: Program, best: tuple[Fraction, ...], limits: Sequence[Fraction]) -> None:
        self.program, self.best, self.limits = program, best, limits
        self.prepared = Prepared(program)
        self.tried: set[frozenset[int]] = set()

    def try_each(self, choices: Iterable[set[int]]) -> bool:
        """Whether one of the choices of offers, the first that does, made a blend of fewer parts."""
        return any(self._try(choice) for choice in choices)

    def _try(self, choice: set[int]) -> bool:
        if choice in self.tried:  # fewer parts are asked for now than then
            return False
        self.tried.add(frozenset(choice))
        try:
            trial = self.prepared.minimise(choice, self.limits)
        except SolverFailed:
            return False
        if trial is None or len(_used(trial)) >= len(_used(self.best)):
            return False
        costs = (_value(terms, trial) for terms in self.program.objectives[:2])
        if any(cost > limit for cost, limit in zip(costs, self.limits, strict=True)):
            return False
        self.best = trial
        return True


def _value(terms: Terms, blend: Sequence[Fraction]) -> Fraction:
    return sum((c * blend[i] for i, c in terms.items() if blend[i]), Fraction(0))


def _used(blend: Sequence[Fraction]) -> list[int]:
    return [i for i, x in enumerate(blend) if x.numerator * USED.denominator > x.denominator * USED.numerator]
