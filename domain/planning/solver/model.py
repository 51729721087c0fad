"""The planner's solver: one model of flasks, loads and casts, solved level by level.

Each level's value is kept before the next is looked at; nothing is ever a weighted sum of levels.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from ortools.sat.python import cp_model

from domain.planning.plan import LEVELS, Plan
from domain.planning.solver import levels
from domain.planning.solver.case import Case
from domain.planning.solver.casts import say_casts
from domain.planning.solver.hint import flasks_by_slot, main_values
from domain.planning.solver.kilns import say_flasks_owned, say_loads
from domain.planning.solver.parts import Parts, Var, start
from domain.planning.solver.read import plan_of
from domain.planning.solver.trees import say_contents

OBJECTIVES: tuple[Callable[[Parts], Var], ...] = (
    levels.left_out,
    levels.days_late,
    levels.cost,
    levels.overtime,
    levels.changes,
    levels.idle,
)
"""In the order of ``LEVELS``; the last of those, changed flasks, is the search's to mind."""
SEQUENCED = 4
"""From this level on the order of casts on each machine is part of the model."""


@dataclass(frozen=True, kw_only=True)
class Effort:
    """``seconds`` for all levels together. ``deterministic``: one worker and a limit counted in the
    solver's own steps, so that the same question has the same answer twice."""

    seconds: float
    workers: int = 2
    seed: int = 0
    deterministic: bool = False
    should_stop: Callable[[], bool] | None = None


@dataclass(frozen=True, kw_only=True)
class Solved:
    """``bounds`` by level, valid for the case; ``exact``: the case leaves nothing out, so that they are
    valid for the week. ``plan`` is none where the start could not be followed or nothing was found."""

    plan: Plan | None
    bounds: dict[str, int]
    exact: bool
    spent: float = 0.0
    """of the effort's seconds"""


NOTHING = Solved(plan=None, bounds={}, exact=False)


def solve(case: Case, effort: Effort, *, upto: int = len(OBJECTIVES), kept: frozenset[str] = frozenset()) -> Solved:
    """The case solved through the first ``upto`` levels, from its incumbent. ``kept``: ids of
    flasks whose contents and sizes stay as they are in the incumbent; only their loads and times move."""
    if not case.kilns or not case.hours.casters or not case.wanted or not case.degrees:
        return NOTHING
    solving = _Solving(case, effort, upto)
    if not solving.begin(kept):
        return NOTHING
    bounds = solving.run()
    spent = effort.seconds - solving.left
    return Solved(plan=plan_of(solving.parts, solving.value), bounds=bounds, exact=solving.parts.exact, spent=spent)


def build(case: Case, *, sequenced: bool) -> Parts:
    """The table of contents of the model."""
    parts = start(case)
    say_contents(parts)
    say_loads(parts)
    say_casts(parts)
    say_flasks_owned(parts)
    if sequenced:
        levels.say_sequences(parts)
    return parts


class _Solving:
    def __init__(self, case: Case, effort: Effort, upto: int) -> None:
        self.case, self.effort, self.upto = case, effort, upto
        self.parts = build(case, sequenced=upto > SEQUENCED)
        self.levels = [say(self.parts) for say in OBJECTIVES[:upto]]
        self.found: list[int] = []
        self.left = effort.seconds

    def value(self, var: Var) -> int:
        return var if isinstance(var, int) else int(self.found[var.index])

    def begin(self, kept: frozenset[str]) -> bool:
        """Follows the incumbent once through the whole model, so that every variable has a hint."""
        model = self.parts.model
        known = list(main_values(self.parts))
        for var, value in known:
            model.add_hint(var, value)
        solver = self._solver(30.0)
        solver.parameters.fix_variables_to_their_hinted_value = True
        status = solver.solve(model)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return False
        self._keep(solver)
        given = {var.index: value for var, value in known}
        for n, flask in flasks_by_slot(self.parts).items():
            if flask.id in kept:
                slot = self.parts.flasks[n]
                for var in (*slot.count.values(), *slot.size.values(), *slot.ring.values()):
                    model.add(var == given.get(var.index, self.found[var.index]))
        return True

    def run(self) -> dict[str, int]:
        bounds: dict[str, int] = {}
        for n, expression in enumerate(self.levels):
            bounds[LEVELS[n]] = self._level(expression)
            self.parts.model.clear_objective()
        return bounds

    def _level(self, expression: Var) -> int:
        """Minimises one level and keeps its value; returns what is proven of it."""
        model = self.parts.model
        now = self._evaluate(expression)
        least = _least(expression, model)
        if now > least and self.left > 0 and not self._stopped():
            model.minimize(expression)
            solver = self._solver(self.left)
            status = self._watched(solver)
            self.left -= self._spent(solver)
            if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
                self._keep_better(solver, expression, now)
                least = max(least, math.ceil(solver.best_objective_bound - 1e-6))
                now = self._evaluate(expression)
        model.add(expression <= now)
        return min(least, now)

    def _spent(self, solver: Any) -> float:
        return float(solver.deterministic_time if self.effort.deterministic else solver.wall_time)

    def _stopped(self) -> bool:
        return self.effort.should_stop is not None and self.effort.should_stop()

    def _evaluate(self, expression: Var) -> int:
        if isinstance(expression, int):
            return expression
        flat = cp_model.FlatIntExpr(expression)
        return int(flat.offset) + sum(int(c) * int(self.found[v.index]) for v, c in zip(flat.vars, flat.coeffs, strict=True))

    def _keep_better(self, solver: Any, expression: Var, now: int) -> None:
        """A limit may end a solve before it has come back to its hint."""
        before = self.found
        self.found = list(solver.response_proto.solution)
        if self._evaluate(expression) < now:
            self._keep(solver)
        else:
            self.found = before

    def _keep(self, solver: Any) -> None:
        """The solution becomes the hint of every variable."""
        model = self.parts.model
        self.found = list(solver.response_proto.solution)
        model.clear_hints()
        model.proto.solution_hint.vars.extend(range(len(self.found)))
        model.proto.solution_hint.values.extend(self.found)

    def _solver(self, seconds: float) -> Any:
        solver = cp_model.CpSolver()
        parameters = solver.parameters
        parameters.random_seed = self.effort.seed
        if self.effort.deterministic:
            parameters.num_workers = 1
            parameters.max_deterministic_time = max(0.01, seconds)
        else:
            parameters.num_workers = self.effort.workers
            parameters.max_time_in_seconds = max(0.05, seconds)
        return solver

    def _watched(self, solver: Any) -> Any:
        """Solves while a thread looks whether to stop."""
        should_stop = self.effort.should_stop
        if should_stop is None:
            return solver.solve(self.parts.model)
        done = threading.Event()

        def watch() -> None:
            while not done.wait(0.1):
                if should_stop():
                    solver.stop_search()
                    return

        watcher = threading.Thread(target=watch, daemon=True)
        watcher.start()
        status = solver.solve(self.parts.model)
        done.set()
        watcher.join()
        return status


def _least(expression: Var, model: Any) -> int:
    """What the variables' own ranges prove."""
    if isinstance(expression, int):
        return expression
    flat = cp_model.FlatIntExpr(expression)
    total = int(flat.offset)
    for var, factor in zip(flat.vars, flat.coeffs, strict=True):
        domain = model.proto.variables[var.index].domain
        total += int(factor) * (domain[0] if factor > 0 else domain[len(domain) - 1])
    return total
