"""How long a person waits for the checker's answer: a move tried, the three best other places for some pieces, and
the best other slots of a flask, each as a request to the app on a database that holds an invented week.

python tests/benchmarks/places.py [jobs] [questions]
"""

from __future__ import annotations

import asyncio
import random
import sys
import time
from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from statistics import median, quantiles
from tempfile import TemporaryDirectory

import httpx
from fastapi import FastAPI

from domain.planning.check import check
from domain.planning.manager import plan_by_hand
from domain.planning.plan import Plan
from domain.planning.problem import Problem
from domain.shop.jobs import Job
from domain.stock.week_charges import week_charges
from domain.week.build import problem_of
from domain.week.week import Week
from webapp.app import create_app
from webapp.demo import demo_week
from webapp.settings import Settings
from webapp.store.week import save_week

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


def app_with(week: Week, plan: Plan, folder: Path) -> FastAPI:
    """The app on a new database that holds the week with its plan."""
    app = create_app(Settings(database_url=f"sqlite:///{folder / 'week.sqlite3'}", log_level="ERROR", fixed_now=week.now))
    with app.state.db.write() as session:
        save_week(session, replace(week, previous=plan))
    return app


def questions_of(plan: Plan, many: int) -> Iterator[tuple[str, str]]:
    """Kinds of question with their addresses."""
    rng = random.Random(1)
    for _ in range(many):
        flask = rng.choice(plan.flasks)
        job, there = rng.choice(list(flask.contents.items()))
        pieces = rng.randint(1, there)
        to = rng.choice([f.id for f in plan.flasks if f.melt == flask.melt and f.id != flask.id] + [""])
        yield "a move tried", f"/flask/{flask.id}/move?job={job}&pieces={pieces}&to={to}"
        yield "other places", f"/flask/{flask.id}/places?job={job}&pieces={pieces}"
        yield "other slots", f"/flask/{flask.id}/slots"


async def asked(app: FastAPI, questions: Iterable[tuple[str, str]]) -> dict[str, list[float]]:
    """Milliseconds by kind."""
    took: dict[str, list[float]] = {}
    async with httpx.AsyncClient(transport=httpx.ASGITransport(app=app), base_url="http://localhost") as client:
        await client.get("/week")
        for kind, address in questions:
            began = time.monotonic()
            answer = await client.get(address, headers={"HX-Request": "true"})
            took.setdefault(kind, []).append((time.monotonic() - began) * 1000)
            if answer.status_code not in (200, 422):
                print("BROKEN", answer.status_code, address)
    return took


def main(jobs: int = 200, questions: int = 60) -> None:
    week = large(demo_week(MONDAY), jobs)
    _, plan = read(week)
    print(f"{jobs} jobs, {len(plan.flasks)} flasks, {len(plan.loads)} loads, {questions} questions of each kind")
    with TemporaryDirectory() as folder:
        app = app_with(week, plan, Path(folder))
        for kind, took in asyncio.run(asked(app, questions_of(plan, questions))).items():
            shares = quantiles(took, n=20)
            print(f"{kind}: median {median(took):.0f} ms, 19 in 20 within {shares[-1]:.0f} ms, longest {max(took):.0f} ms")
        app.state.db.close()


if __name__ == "__main__":
    main(*(int(x) for x in sys.argv[1:]))
