"""One week of a standard set, planned and measured; the last line printed is its row as JSON.

python tests/benchmarks/one_week.py planner|peers SET SEED
"""

from __future__ import annotations

import json
import resource
import sys
import time
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent))

import sets

from domain.planning.check import check
from domain.planning.manager import plan_by_hand
from domain.planning.measure import values
from domain.planning.plan import Plan
from domain.planning.problem import Problem
from domain.week.answer import Progress, plan_week
from domain.week.build import problem_of

LEVELS = 6
"""Levels that are measured; the last one, changed flasks, is for weeks that are planned again."""


def planner(problem: Problem, seconds: float, seed: int) -> dict[str, Any]:
    by_hand = plan_by_hand(problem)
    shown: list[Progress] = []
    began = time.monotonic()
    plan = plan_week(problem, seconds=seconds, seed=seed, on_progress=shown.append)
    took = time.monotonic() - began
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    broken = [*_broken(problem, [by_hand, *(step.plan for step in shown)]), *(v.message for v in check(problem, plan))]
    return {
        "jobs": len(problem.jobs),
        "hand": {"seconds": by_hand.seconds, "values": values(by_hand.levels)[:LEVELS], "flasks": len(by_hand.flasks)},
        "first": shown[0].seconds if shown else took,
        "seconds": took,
        "values": values(plan.levels)[:LEVELS],
        "bounds": [level.bound or 0 for level in plan.levels[:LEVELS]],
        "proven": all(level.proven for level in plan.levels[:LEVELS]),
        "flasks": len(plan.flasks),
        "loads": len(plan.loads),
        "memory": memory,
        "checked": len(shown) + 2,
        "broken": broken[:5],
        "notes": plan.notes,
        "course": [(round(step.seconds, 1), step.stage, values(step.levels)[:3]) for step in shown],
    }


def _broken(problem: Problem, plans: list[Plan]) -> list[str]:
    """What the checker finds in plans that are not weighed out yet."""
    return [violation.message for plan in plans for violation in check(problem, plan, metal=False)]


def peers(problem: Problem, seconds: float, seed: int) -> dict[str, Any]:
    import peer  # its library takes a second to load

    return {"peers": peer.compared(problem, seconds, seed)}


def main(what: str, name: str, seed: int) -> None:
    problem = problem_of(sets.week(name, seed))
    measured = {"planner": planner, "peers": peers}[what](problem, sets.SETS[name].seconds, seed)
    print(json.dumps(measured))


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], int(sys.argv[3]))
