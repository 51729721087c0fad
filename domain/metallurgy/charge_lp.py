"""The solver behind charges: small linear programs, in whole steps where asked, by HiGHS.

Everything comes in and goes out as exact fractions; floats stay inside. A solution is exact only
up to the solver's tolerance, so callers check what matters again in fractions.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, TypeAlias

import highspy
import numpy as np

from domain.errors import CannotCompose

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
        super().__init__(f"the solver could not decide whether there is a charge ({status})", "A slightly other mass may mend it")


def minimise(program: Program) -> tuple[Fraction, ...] | None:
    """The values of the variables, or none where no values keep all rows.

    Raises ``SolverFailed`` where the solver ends any other way.
    """
    if not program.bounds:
        return () if all((row.low or 0) <= 0 <= (row.high or 0) for row in program.rows) else None
    model = _model(program)
    first, *later = [o for o in program.objectives if o] or [{}]
    values = _run(model, first, len(program.bounds))
    for objective, before in zip(later, [first, *later], strict=False):
        if values is None:
            return None
        _bound(model, before, sum(float(c) * values[v] for v, c in before.items()))
        values = _run_again(model, objective, values)
    return None if values is None else tuple(Fraction(v) for v in values)


def _run_again(model: Model, objective: Terms, reached: list[float]) -> list[float]:
    """A later objective. What is ``reached`` keeps every row, so it stays the answer where the
    solver loses its way in the narrow room that is left."""
    try:
        return _run(model, objective, len(reached)) or reached
    except SolverFailed:
        return reached


Model: TypeAlias = Any
"""HiGHS's own model. Its Python wrapper is left aside: merely making one prints to standard output,
where a plan may be going."""


def _model(program: Program) -> Model:
    model = highspy._core._Highs()
    model.setOptionValue("output_flag", False)
    upper = [highspy.kHighsInf if high is None else float(high) for _, high in program.bounds]
    model.addVars(len(upper), np.array([float(low) for low, _ in program.bounds]), np.array(upper))
    for row in program.rows:
        low = -highspy.kHighsInf if row.low is None else float(row.low)
        high = highspy.kHighsInf if row.high is None else float(row.high)
        _add_row(model, low, high, row.terms)
    if program.whole:
        for v in range(len(upper)):
            model.changeColIntegrality(v, highspy.HighsVarType.kInteger)
    return model


def _add_row(model: Model, low: float, high: float, terms: Terms) -> None:
    kept = {v: float(c) for v, c in terms.items() if c}
    model.addRow(low, high, len(kept), np.array(list(kept), dtype=np.int32), np.array(list(kept.values()), dtype=float))


def _run(model: Model, objective: Terms, count: int) -> list[float] | None:
    costs = np.zeros(count)
    for v, c in objective.items():
        costs[v] = float(c)
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


def _bound(model: Model, objective: Terms, reached: float) -> None:
    if objective:
        _add_row(model, -highspy.kHighsInf, reached + SLACK * max(1.0, abs(reached)), objective)
