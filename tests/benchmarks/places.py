"""How long the three best other places for some pieces take, in invented weeks with metal on the shelf.

python tests/benchmarks/places.py [jobs] [questions]
"""

from __future__ import annotations

import random
import sys
import time
from dataclasses import replace
from datetime import date, timedelta
from statistics import median, quantiles

from domain.planning.check import check
from domain.planning.manager import plan_by_hand
from domain.planning.plan import Plan
from domain.planning.problem import Problem
from domain.shop.jobs import Job
from domain.stock.week_charges import week_charges
from domain.week.build import problem_of
from domain.week.places import best_places
from domain.week.week import Week
from webapp.demo import demo_week

MONDAY = date(2026, 3, 2)


def large(week: Week, jobs: int) -> Week:
    """The demo's week with its jobs, lots, kilns and flasks as many times as make ``jobs`` jobs."""
    times = -(-jobs // len(week.jobs))
    more = [_again(job, n) for n in range(times) for job in week.jobs][:jobs]
    shop = replace(
        week.shop,
        kilns=tuple(replace(k, id=f"{k.id}-{n}", name=f"{k.name} {n}") for n in range(min(2, times)) for k in week.shop.kilns),
        sizes=tuple(replace(s, owned=s.owned * times) for s in week.shop.sizes),
    )
    return replace(week, shop=shop, jobs=tuple(more), lots=tuple(replace(lot, mass=lot.mass.times(times)) for lot in week.lots))


def _again(job: Job, n: int) -> Job:
    due = (date.fromisoformat(job.due) + timedelta(days=n)).isoformat()
    return replace(job, id=job.id if n == 0 else f"{job.id}-{n}", due=due)


def read(week: Week) -> tuple[Problem, Plan]:
    """The week with a plan that people have read."""
    problem = problem_of(week)
    plan = plan_by_hand(problem)
    metal = week_charges(problem, plan.flasks)
    plan = replace(plan, charges=metal.charges, orders=metal.orders)
    for violation in check(problem, plan):
        print("BROKEN", violation)
    return problem_of(replace(week, previous=plan)), plan


def main(jobs: int = 200, questions: int = 60) -> None:
    problem, plan = read(large(demo_week(MONDAY), jobs))
    rng, took, found = random.Random(1), [], []
    for _ in range(questions):
        flask = rng.choice(plan.flasks)
        job, there = rng.choice(list(flask.contents.items()))
        began = time.monotonic()
        found.append(len(best_places(problem, plan, job, rng.randint(1, there), flask.id)))
        took.append((time.monotonic() - began) * 1000)
    print(f"{jobs} jobs, {len(plan.flasks)} flasks, {len(plan.loads)} loads, {questions} questions")
    print(f"median {median(took):.0f} ms, nine in ten within {quantiles(took, n=10)[-1]:.0f} ms, longest {max(took):.0f} ms")
    print("places found: " + ", ".join(f"{found.count(n)} × {n}" for n in sorted(set(found), reverse=True)))


if __name__ == "__main__":
    main(*(int(x) for x in sys.argv[1:]))
