"""The linear solver behind the bounds of a week: one model, its least value and its prices, by HiGHS.

The answer is a float; who rounds it up to a whole number leaves room for the solver's tolerance.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, TypeAlias

import highspy
import numpy as np

LARGE = 2_000
"""Rows above which an inner point method, which then crosses over to a corner, is twice as fast."""

Model: TypeAlias = Any
"""HiGHS's own model; its Python wrapper prints to standard output when it is made."""


@dataclass(frozen=True, slots=True)
class Least:
    """``value``: nothing is lower. ``prices``: by row, what one more of its right side costs; none
    where whole numbers were asked for."""

    value: float
    prices: tuple[float, ...] = ()


@dataclass
class Dive:
    """A model in fractions that is solved again and again, each time from where it was."""

    model: Model

    def narrow(self, variable: int, low: float, high: float | None = None) -> None:
        self.model.changeColBounds(variable, low, highspy.kHighsInf if high is None else high)

    def values(self) -> tuple[float, ...] | None:
        """The cheapest values by variable; none where none keep all rows."""
        self.model.run()
        if self.model.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        return tuple(self.model.getSolution().col_value)


@dataclass
class Programme:
    """Variables from 0 up, rows with a least and a greatest value (none where open), a cost to keep low."""

    costs: list[float] = field(default_factory=list)
    whole: list[int] = field(default_factory=list)
    lows: list[float] = field(default_factory=list)
    highs: list[float] = field(default_factory=list)
    starts: list[int] = field(default_factory=list)
    columns: list[int] = field(default_factory=list)
    factors: list[float] = field(default_factory=list)

    def variable(self, cost: float = 0, *, whole: bool = False) -> int:
        self.costs.append(float(cost))
        if whole:
            self.whole.append(len(self.costs) - 1)
        return len(self.costs) - 1

    def row(self, terms: Mapping[int, float], low: float | None = None, high: float | None = None) -> int:
        self.lows.append(-highspy.kHighsInf if low is None else float(low))
        self.highs.append(highspy.kHighsInf if high is None else float(high))
        self.starts.append(len(self.columns))
        self.columns += terms
        self.factors += terms.values()
        return len(self.lows) - 1

    def costing(self, costs: Mapping[int, float]) -> Programme:
        """The same rows with these costs in place of their own."""
        return replace(self, costs=[float(costs.get(v, 0.0)) for v in range(len(self.costs))])

    def least(self, seconds: float = math.inf) -> Least | None:
        """The least cost in fractions, with prices; none where no values keep all rows or none are found in time."""
        model = self._model()
        model.setOptionValue("time_limit", seconds)
        if len(self.lows) > LARGE:
            model.setOptionValue("solver", "ipm")
        model.run()
        if model.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        return Least(model.getInfo().objective_function_value, tuple(model.getSolution().row_dual))

    def least_with_values(self) -> tuple[tuple[float, ...], tuple[float, ...]] | None:
        """Prices by row and values by variable of the least cost in fractions; none where no values keep all rows."""
        model = self._model()
        model.run()
        if model.getModelStatus() != highspy.HighsModelStatus.kOptimal:
            return None
        solution = model.getSolution()
        return tuple(solution.row_dual), tuple(solution.col_value)

    def opened(self) -> Dive:
        """The same in fractions, to be narrowed step by step."""
        return Dive(self._model())

    def least_whole(self, nodes: int, seconds: float) -> Least | None:
        """A value below which no whole numbers come, after so many branches at most; ``seconds`` is
        there for slow machines, because where it bites the answer depends on the machine."""
        model = self._model()
        for v in self.whole:
            model.changeColIntegrality(v, highspy.HighsVarType.kInteger)
        model.setOptionValue("mip_max_nodes", nodes)
        model.setOptionValue("time_limit", seconds)
        model.run()
        value = model.getInfo().mip_dual_bound
        known = (highspy.HighsModelStatus.kOptimal, highspy.HighsModelStatus.kSolutionLimit, highspy.HighsModelStatus.kTimeLimit)
        return Least(value) if model.getModelStatus() in known and abs(value) < highspy.kHighsInf else None

    def _model(self) -> Model:
        model = highspy._core._Highs()
        model.setOptionValue("output_flag", False)
        count = len(self.costs)
        model.addVars(count, np.zeros(count), np.full(count, highspy.kHighsInf))
        model.changeColsCost(count, np.arange(count, dtype=np.int32), np.array(self.costs))
        bounds = np.array(self.lows), np.array(self.highs)
        places = np.array(self.starts, dtype=np.int32), np.array(self.columns, dtype=np.int32)
        model.addRows(len(self.lows), *bounds, len(self.columns), *places, np.array(self.factors, dtype=float))
        return model
