"""The cheapest flasks for some jobs of one melt, whenever they are cast: trees and charges to the letter."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TypeAlias

from ortools.sat.python import cp_model

from domain.planning.baseline.trees import Trees
from domain.planning.plan import Plan
from domain.planning.solver.case import Case
from domain.planning.solver.parts import Parts, Var, start
from domain.planning.solver.trees import say_contents

Filled: TypeAlias = tuple[str, dict[str, int]]
"""Size of a flask, and pieces in it by job."""


@dataclass(frozen=True, slots=True)
class Cheapest:
    """``least``: no flasks for the pieces cost less, nor is there any for less than was asked. ``flasks``: the
    cheapest that were found, none where none were."""

    least: int
    flasks: tuple[Filled, ...] | None = None


def cheapest(
    trees: Trees, melt: str, pieces: Mapping[str, int], low: int, high: int, seconds: float, *, steps: bool = False
) -> Cheapest:
    """Flasks for these ``pieces`` by job that cost from ``low``, less than which is known not to do, to ``high``.
    ``seconds`` are those of the clock, or with ``steps`` the solver's own, so that the same question has the same
    answer twice. ``least`` is ``high`` + 1 where there are none."""
    sizes = [s.cost for s in trees.usable_sizes(melt)]
    if low > high or not sizes or min(sizes) <= 0:
        return Cheapest(low)
    jobs = tuple(replace(trees.problem.job[j], quantity=n) for j, n in pieces.items())
    problem = replace(trees.problem, jobs=jobs, fixed_flasks=(), fixed_loads=(), previous=None)
    parts = start(Case(Trees(problem), Plan(), {melt: high // min(sizes)}, {}))
    say_contents(parts)
    price = _price(parts, pieces)
    parts.model.add(price >= low)
    parts.model.add(price <= high)
    parts.model.minimize(price)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    if steps:
        solver.parameters.max_deterministic_time = seconds
    else:
        solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(parts.model)
    if status == cp_model.INFEASIBLE:
        return Cheapest(high + 1)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE, cp_model.UNKNOWN):
        return Cheapest(low)
    least = max(low, min(high, math.ceil(solver.best_objective_bound - 1e-6)))
    return Cheapest(least, None if status == cp_model.UNKNOWN else tuple(_filled(parts, solver)))


def _price(parts: Parts, pieces: Mapping[str, int]) -> Var:
    """Every piece is in some flask, and flasks come in the order of their price."""
    sizes = parts.case.problem.size
    for j, n in pieces.items():
        parts.model.add(sum(f.count[j] for f in parts.flasks) == n)
    prices = [sum(sizes[s].cost * v for s, v in f.size.items()) for f in parts.flasks]
    for one, other in pairwise(prices):
        parts.model.add(one >= other)
    return sum(prices)


def _filled(parts: Parts, solver: cp_model.CpSolver) -> list[Filled]:
    return [
        (next(s for s, v in f.size.items() if solver.value(v)), {j: n for j, v in f.count.items() if (n := solver.value(v))})
        for f in parts.flasks
        if solver.value(f.used)
    ]
