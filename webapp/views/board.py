"""The board on the wall: today and the week, without customers' names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from domain.planning.plan import Plan
from domain.planning.problem import Problem
from domain.saying import say
from webapp.views.today import Doing, Task, queue
from webapp.views.week import alloy_name


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
    return BoardTask(at=task.at, text=_words(task, " ".join(f.id for f in task.flasks)), done=task.done, late=task.late)


def _words(task: Task, flask: str) -> str:
    if task.air:
        return say("Leave to cool in air {flask}", flask=flask)
    return {
        Doing.INVEST: say("Invest {flask}", flask=flask),
        Doing.LOAD: say("Load the kiln with {flask}", flask=flask),
        Doing.START: say("Start the program of {flask}", flask=flask),
        Doing.WEIGH: say("Weigh the charge of {flask}", flask=flask),
        Doing.CAST: say("Cast {flask}", flask=flask),
        Doing.QUENCH: say("Quench {flask}", flask=flask),
        Doing.KNOCK_OUT: say("Knock out {flask}", flask=flask),
    }[task.doing]


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
            stage=say(stages.get(f.id, "planned")),
        )
        for f in flasks
    )
