"""The solver behind charges: small linear programs, in whole steps where asked, by HiGHS.

Everything comes in and goes out as exact fractions; floats stay inside. A solution is exact only
up to the solver's tolerance, so callers check what matters again in fractions.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import zip_longest
from typing import Any, TypeAlias

import highspy
import numpy as np
import numpy.typing as npt

from domain.errors import CannotCompose
from domain.saying import say

Terms = Mapping[int, Fraction]
"""Coefficient by variable."""


@dataclass(frozen=True, slots=True)
class Row:
    """``low`` ≤ Σ coefficient × variable ≤ ``high``; none where a side is open."""

    terms: Terms
    low: Fraction | None = None
    high: Fraction | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Program:
    """``bounds``: least and greatest value of each variable, none for no greatest. ``objectives``
    are minimised one after the other, each without giving up what the ones before it reached.
    ``whole``: every variable is a whole number."""

    bounds: Sequence[tuple[Fraction, Fraction | None]]
    rows: Sequence[Row]
    objectives: Sequence[Terms]
    whole: bool = False


SLACK = 1e-7
"""Share of an objective's value that later objectives may give up: the solver's own tolerance."""

OTHER_WAYS = (1, 4)
"""The dual simplex from scratch, then the primal, where the first run loses its way in a program whose
room is narrow to the point of being none."""


class SolverFailed(CannotCompose):
    """The solver ended in a state that says neither optimal nor infeasible: no charge can be given,
    and nobody knows whether there is one."""

    def __init__(self, status: str) -> None:
        super().__init__(
            say("the solver could not decide whether there is a charge ({status})", status=status),
            say("A slightly other mass may mend it"),
        )


def minimise(program: Program) -> tuple[Fraction, ...] | None:
    """The values of the variables, or none where no values keep all rows.

    Raises ``SolverFailed`` where the solver ends any other way.
    """
    if not program.bounds:
        return () if all((row.low or 0) <= 0 <= (row.high or 0) for row in program.rows) else None
    return Prepared(program).minimise()


Model: TypeAlias = Any
"""HiGHS's own model. Its Python wrapper is left aside: merely making one prints to standard output,
where a plan may be going."""

Floats: TypeAlias = npt.NDArray[np.float64]
Indices: TypeAlias = npt.NDArray[np.int32]
INFINITE: float = highspy.kHighsInf
OVER = 1e-6
"""Share of a limit by which an objective must lie above it before it is known to: more than the solver's
tolerance and ``SLACK`` together."""


class Prepared:
    """A program in the solver's own numbers, turned into them once however often it is solved."""

    def __init__(self, program: Program) -> None:
        self.whole = program.whole
        self.lower = np.array([_float(low) for low, _ in program.bounds])
        self.upper = np.array([INFINITE if high is None else _float(high) for _, high in program.bounds])
        self.low = np.array([-INFINITE if row.low is None else _float(row.low) for row in program.rows])
        self.high = np.array([INFINITE if row.high is None else _float(row.high) for row in program.rows])
        kept = [[(v, _float(c)) for v, c in row.terms.items() if c] for row in program.rows]
        self.starts: Indices = np.cumsum([0, *(len(terms) for terms in kept[:-1])], dtype=np.int32)
        self.columns: Indices = np.array([v for terms in kept for v, _ in terms], dtype=np.int32)
        self.values = np.array([c for terms in kept for _, c in terms], dtype=float)
        self.objectives = [_costs(objective, len(program.bounds)) for objective in program.objectives]

    def minimise(self, only: Collection[int] | None = None, limits: Sequence[Fraction] = ()) -> tuple[Fraction, ...] | None:
        """What ``minimise`` gives, with nothing but the variables ``only`` above zero where they are named; none
        as well as soon as one of the first objectives is known to lie above its limit."""
        model = self._model(only)
        values: list[float] | None = None
        before: Floats | None = None
        for costs, limit in self._asked(limits):
            if before is not None and values is not None:
                _bound(model, before, float(before @ values))
            values = _run(model, costs) if values is None else _run_again(model, costs, values)
            if values is None or (limit is not None and costs @ values > limit + OVER * max(1.0, abs(limit))):
                return None
            before = costs
        return None if values is None else tuple(Fraction(v) for v in values)

    def _asked(self, limits: Sequence[Fraction]) -> list[tuple[Floats, float | None]]:
        """The objectives that ask for anything, each with its limit; one that asks for nothing where there is none."""
        paired = zip_longest(self.objectives, map(_float, limits))
        return [(costs, limit) for costs, limit in paired if costs.any()] or [(np.zeros(len(self.upper)), None)]

    def _model(self, only: Collection[int] | None) -> Model:
        model, count = highspy._core._Highs(), len(self.upper)
        model.setOptionValue("output_flag", False)
        upper = self.upper
        if only is not None:
            upper = np.zeros(count)
            upper[list(only)] = self.upper[list(only)]
        model.addVars(count, self.lower, upper)
        model.addRows(len(self.low), self.low, self.high, len(self.values), self.starts, self.columns, self.values)
        if self.whole:
            for v in range(count):
                model.changeColIntegrality(v, highspy.HighsVarType.kInteger)
        return model


def _float(number: Fraction | int) -> float:
    """The nearest float; ``float`` of a fraction takes three times as long."""
    return number.numerator / number.denominator


def _costs(objective: Terms, count: int) -> Floats:
    costs = np.zeros(count)
    for v, c in objective.items():
        costs[v] = _float(c)
    return costs


def _run_again(model: Model, costs: Floats, reached: list[float]) -> list[float]:
    """A later objective. What is ``reached`` keeps every row, so it stays the answer where the
    solver loses its way in the narrow room that is left."""
    try:
        return _run(model, costs) or reached
    except SolverFailed:
        return reached


def _run(model: Model, costs: Floats) -> list[float] | None:
    count = len(costs)
    model.changeColsCost(count, np.arange(count, dtype=np.int32), costs)
    ran, status = model.run(), model.getModelStatus()
    for strategy in OTHER_WAYS if status == highspy.HighsModelStatus.kUnknown else ():
        model.clearSolver()
        model.setOptionValue("simplex_strategy", strategy)
        ran, status = model.run(), model.getModelStatus()
        if status != highspy.HighsModelStatus.kUnknown:
            break
    if status in (highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kUnboundedOrInfeasible):
        return None
    if ran == highspy.HighsStatus.kError or status != highspy.HighsModelStatus.kOptimal:
        raise SolverFailed(model.modelStatusToString(status))
    return list(model.getSolution().col_value)


def _bound(model: Model, costs: Floats, reached: float) -> None:
    """Holds an objective at what it has reached."""
    used = np.flatnonzero(costs).astype(np.int32)
    model.addRow(-INFINITE, reached + SLACK * max(1.0, abs(reached)), len(used), used, costs[used])
