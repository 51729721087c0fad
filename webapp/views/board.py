"""The board on the wall: today and the week, without customers' names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from domain.planning.plan import Plan
from domain.planning.problem import Problem
from webapp.views.today import Doing, Task, queue
from webapp.views.week import alloy_name

WORDS = {
    Doing.INVEST: "Invest",
    Doing.LOAD: "Load the kiln with",
    Doing.START: "Start the program of",
    Doing.WEIGH: "Weigh the charge of",
    Doing.CAST: "Cast",
    Doing.QUENCH: "Quench",
    Doing.KNOCK_OUT: "Knock out",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardTask:
    at: datetime
    text: str
    done: bool
    late: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardFlask:
    day: date
    at: datetime
    flask: str
    alloy: str
    stage: str


def todays_tasks(problem: Problem, plan: Plan, stages: Mapping[str, str], now: datetime) -> tuple[BoardTask, ...]:
    return tuple(_task(task) for task in queue(problem, plan, now.date(), stages, now))


def _task(task: Task) -> BoardTask:
    words = "Leave to cool in air" if task.air else WORDS[task.doing]
    return BoardTask(at=task.at, text=f"{words} {' '.join(f.id for f in task.flasks)}", done=task.done, late=task.late)


def weeks_flasks(problem: Problem, plan: Plan, stages: Mapping[str, str], today: date) -> tuple[BoardFlask, ...]:
    """From today on, in the order of casting."""
    clock = problem.clock
    flasks = sorted((f for f in plan.flasks if clock.day_of(f.cast_start) >= today), key=lambda f: f.cast_start)
    return tuple(
        BoardFlask(
            day=clock.day_of(f.cast_start),
            at=clock.local(f.cast_start),
            flask=f.id,
            alloy=alloy_name(problem, f),
            stage=stages.get(f.id, "planned"),
        )
        for f in flasks
    )
