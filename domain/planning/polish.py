"""The last touch: flask temperatures moved from the edge of their range towards its middle."""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby

from domain.planning.baseline.trees import common_range
from domain.planning.plan import Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.units import Temperature

STEP = 5_000
"""thousandths of a degree that a temperature is rounded to"""


def polish(problem: Problem, plan: Plan) -> Plan:
    """Temperatures raised towards the middle of what a flask's pieces share, in whole 5 °C where there
    is room. Who was hotter stays hotter and who was equal stays equal, so no soak is added."""
    fixed = {f.id for f in problem.fixed_flasks}
    loads: dict[str, list[PlannedFlask]] = {}
    for flask in plan.flasks:
        loads.setdefault(flask.load, []).append(flask)
    better: dict[str, Temperature] = {}
    for flasks in loads.values():
        if not any(f.id in fixed for f in flasks):
            better |= _raised(problem, flasks)
    return replace(plan, flasks=tuple(replace(f, temperature=better.get(f.id, f.temperature)) for f in plan.flasks))


def _raised(problem: Problem, flasks: list[PlannedFlask]) -> dict[str, Temperature]:
    result: dict[str, Temperature] = {}
    ceiling: int | None = None
    for at, group in groupby(sorted(flasks, key=lambda f: -f.temperature.millidegrees), lambda f: f.temperature.millidegrees):
        members = list(group)
        shared = common_range(problem.job[j] for f in members for j in f.contents)
        if shared is None:  # cannot be for a plan that the checker passes
            return {}
        middle = (shared.low.millidegrees + shared.high.millidegrees) // 2
        wanted = middle if ceiling is None else min(middle, ceiling - STEP)
        ceiling = max(at, wanted // STEP * STEP)
        result |= {f.id: Temperature(ceiling) for f in members}
    return result
