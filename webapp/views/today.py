"""The day's queue: what is done when, in the order of the clock, and what comes next."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from enum import StrEnum

from domain.floor.stages import ON_THE_WAY
from domain.planning.clock import Minute
from domain.planning.plan import KilnLoad, Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.saying import say
from domain.shop.alloy import CoolingMethod

STAGES = tuple(str(stage) for stage in ON_THE_WAY)
"""What happens to a flask and is marked here, in its order."""


class Doing(StrEnum):
    """Kinds of work in the queue; the value names its part of the template."""

    INVEST = "invest"
    LOAD = "load"
    START = "start"
    WEIGH = "weigh"
    CAST = "cast"
    QUENCH = "quench"
    KNOCK_OUT = "knockout"


MARKED_BY = {
    Doing.INVEST: "invested",
    Doing.LOAD: "loaded",
    Doing.START: "started",
    Doing.CAST: "cast",
    Doing.KNOCK_OUT: "knocked out",
}
"""The stage that a piece of work leads to, for work that is marked done."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """``flasks``: one, or all of a kiln load. ``at``: when it begins, or not before for a quench.
    ``stage``: what marking it done records, empty where nothing is recorded. ``waits``: what must
    be marked before, in words; empty when it may be marked now. ``air``: no quench, it cools in air.
    ``timer``: nobody is in the shop then, so the kiln starts by its timer."""

    doing: Doing
    at: datetime
    until: datetime
    flasks: tuple[PlannedFlask, ...]
    load: KilnLoad | None
    stage: str
    done: bool
    waits: str = ""
    late: bool = False
    next: bool = False
    air: bool = False
    timer: bool = False

    @property
    def flask(self) -> PlannedFlask:
        return self.flasks[0]

    @property
    def before(self) -> str:
        """The stage of a flask whose checklists come first; a quench is marked with the knock-out."""
        return "quenched" if self.doing is Doing.QUENCH else self.stage

    @property
    def key(self) -> str:
        return f"{self.doing}-{self.load.id if len(self.flasks) > 1 and self.load else self.flask.id}"


def queue(problem: Problem, plan: Plan, day: date, stages: Mapping[str, str], now: datetime) -> tuple[Task, ...]:
    """The day's work. ``stages``: the stage that each flask has reached, none for those not begun.
    ``now``: the shop's local time; what should have begun before it is marked late."""
    tasks = sorted(
        _tasks(problem, plan, day),
        key=lambda found: (found[0], list(Doing).index(found[1].doing), found[1].until, found[1].flask.id),
    )
    marked = [_marked(task, stages, now) for _, task in tasks]
    return tuple(_next_marked(marked))


def reached(stages: Mapping[str, str], flask: str) -> int:
    """How many stages the flask has behind it."""
    stage = stages.get(flask, "")
    return STAGES.index(stage) + 1 if stage in STAGES else 0


def _tasks(problem: Problem, plan: Plan, day: date) -> Iterator[tuple[Minute, Task]]:
    for load in plan.loads:
        yield from _load_tasks(problem, plan, load, day)
    for flask in plan.flasks:
        yield from _flask_tasks(problem, plan, flask, day)


def _load_tasks(problem: Problem, plan: Plan, load: KilnLoad, day: date) -> Iterator[tuple[Minute, Task]]:
    flasks = tuple(f for f in plan.flasks if f.load == load.id)
    if not flasks:
        return
    for doing, start, end in ((Doing.LOAD, load.load_at, load.start), (Doing.START, load.start, load.program_end)):
        if problem.clock.day_of(start) == day:
            alone = doing is Doing.START and not any(s.opens <= start < s.closes for s in problem.shifts)
            yield start, replace(_task(problem, doing, start, end, flasks, load), timer=alone)


def _flask_tasks(problem: Problem, plan: Plan, flask: PlannedFlask, day: date) -> Iterator[tuple[Minute, Task]]:
    load = plan.load(flask.load)
    spans = [
        (Doing.INVEST, flask.invest_start, flask.invest_start, flask.invest_end),
        (Doing.WEIGH, _first_cast(problem, plan, flask) - 1, _first_cast(problem, plan, flask), flask.cast_start),
        (Doing.CAST, flask.cast_start, flask.cast_start, flask.cast_end),
        (Doing.QUENCH, *_quench(problem, flask)),
        (Doing.KNOCK_OUT, flask.knockout_start, flask.knockout_start, flask.knockout_end),
    ]
    for doing, order, start, end in spans:
        if problem.clock.day_of(start) == day:
            task = _task(problem, doing, start, end, (flask,), load)
            yield order, replace(task, air=doing is Doing.QUENCH and not _is_quenched(problem, flask))


def _first_cast(problem: Problem, plan: Plan, flask: PlannedFlask) -> Minute:
    """All charges of a load are weighed before its first cast, so that nobody weighs by an open flame."""
    day = problem.clock.day_of(flask.cast_start)
    same = [f.cast_start for f in plan.flasks if f.load == flask.load and problem.clock.day_of(f.cast_start) == day]
    return min(same)


def _is_quenched(problem: Problem, flask: PlannedFlask) -> bool:
    melt = problem.melt.get(flask.melt)
    return melt is None or melt.alloy.cooling.method is CoolingMethod.QUENCH


def _quench(problem: Problem, flask: PlannedFlask) -> tuple[Minute, Minute, Minute]:
    melt = problem.melt.get(flask.melt)
    start = flask.cast_end + (melt.alloy.cooling.wait_minutes if melt else 0)
    return start, start, max(start, flask.knockout_start)


def _task(
    problem: Problem, doing: Doing, start: Minute, end: Minute, flasks: tuple[PlannedFlask, ...], load: KilnLoad | None
) -> Task:
    local = problem.clock.local
    return Task(
        doing=doing,
        at=local(start).replace(tzinfo=None),
        until=local(end).replace(tzinfo=None),
        flasks=flasks,
        load=load,
        stage=MARKED_BY.get(doing, ""),
        done=False,
    )


def _marked(task: Task, stages: Mapping[str, str], now: datetime) -> Task:
    behind = [reached(stages, f.id) for f in task.flasks]
    if not task.stage:
        done = min(behind) >= STAGES.index("cast" if task.doing is Doing.WEIGH else "knocked out") + 1
        return replace(task, done=done)
    place = STAGES.index(task.stage)
    done = min(behind) > place
    behind_hand = [f.id for f, n in zip(task.flasks, behind, strict=True) if n < place]
    before = say(STAGES[place - 1])
    waits = say("{flasks} not yet {before}", flasks=", ".join(behind_hand), before=before) if behind_hand else ""
    return replace(task, done=done, waits=waits, late=not done and task.at < now)


def _next_marked(tasks: list[Task]) -> Iterator[Task]:
    """Marks the first piece of work that can be done now."""
    found = False
    for task in tasks:
        first = not found and not task.done and not task.waits
        found = found or first
        yield replace(task, next=first)
