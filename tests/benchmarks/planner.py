"""Plans by hand, by the planner, and what no plan can beat: a table for invented studios.

python tests/benchmarks/planner.py [jobs] [seconds] [seeds]
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent))

import studio

from domain.planning.check import check
from domain.planning.manager import plan_by_hand
from domain.planning.plan import LEVELS, Plan
from domain.stock.week_charges import WeekCharges
from domain.week import answer
from domain.week.answer import plan_week


def row(name: str, plan: Plan, seconds: float) -> str:
    cells = " ".join(f"{level.value:>8}" for level in plan.levels[:6])
    return f"{name:<12}{seconds:>7.1f} s {cells} {len(plan.flasks):>7} {len(plan.loads):>6}"


def main(jobs: int = 45, seconds: float = 20, seeds: int = 3) -> None:
    answer.week_charges = lambda *_: WeekCharges(composed={})  # type: ignore[assignment] # these studios keep no lots
    print(f"{'':<22}" + " ".join(f"{name[:8]:>8}" for name in LEVELS[:6]) + "  flasks  loads")
    for seed in range(1, seeds + 1):
        week = studio.studio(seed, jobs)
        began = time.monotonic()
        by_hand = plan_by_hand(week)
        print(row(f"{jobs}/{seed} hand", by_hand, time.monotonic() - began))
        plan = plan_week(week, seconds=seconds)
        print(row("planner", plan, plan.seconds))
        print(f"{'no less than':<22}" + " ".join(f"{level.bound or 0:>8}" for level in plan.levels[:6]))
        for violation in check(week, plan, metal=False):
            print("BROKEN", violation)


if __name__ == "__main__":
    main(*(int(x) for x in sys.argv[1:]))
