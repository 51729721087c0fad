"""What is waited for now, counted from what was recorded: bench set, program, soak, and the rest before the quench."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from domain.planning.plan import KilnLoad, Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.saying import say

Recorded = Mapping[str, Mapping[str, datetime]]
"""by flask and stage, when it happened, in UTC"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wait:
    """``what`` goes on ``until`` then (UTC); ``then``: what may be done after it."""

    what: str
    until: datetime
    then: str

    @property
    def ends(self) -> int:
        """Milliseconds since 1970."""
        return int(self.until.timestamp() * 1000)


def waits(problem: Problem, plan: Plan, recorded: Recorded, now: datetime) -> tuple[Wait, ...]:
    """Those that are over stay until the next stage is recorded. The first to end comes first."""
    found = [*_flask_waits(problem, plan, recorded), *_load_waits(problem, plan, recorded, now)]
    return tuple(sorted(found, key=lambda wait: (wait.until, wait.what)))


def _flask_waits(problem: Problem, plan: Plan, recorded: Recorded) -> Iterator[Wait]:
    for flask in plan.flasks:
        stages = recorded.get(flask.id, {})
        invested, cast = stages.get("invested"), stages.get("cast")
        kind = problem.investment.get(flask.investment)
        if invested and kind and "loaded" not in stages:
            yield Wait(
                what=say("Bench set of {flask}", flask=flask.id),
                until=_later(invested, kind.bench_set_minutes),
                then=say("it may be loaded"),
            )
        if cast and not {"quenched", "knocked out"} & stages.keys():
            yield _rest(problem, flask, cast)


def _rest(problem: Problem, flask: PlannedFlask, cast: datetime) -> Wait:
    melt = problem.melt.get(flask.melt)
    minutes = melt.alloy.cooling.wait_minutes if melt else 0
    return Wait(
        what=say("{flask} rests after the pour", flask=flask.id),
        until=_later(cast, minutes),
        then=say("look for the glow in the shade first"),
    )


def _load_waits(problem: Problem, plan: Plan, recorded: Recorded, now: datetime) -> Iterator[Wait]:
    kilns = {kiln.id: kiln.name for kiln in problem.shop.kilns}
    for load in plan.loads:
        stages = [recorded.get(flask, {}) for flask in load.flasks]
        started = [one["started"] for one in stages if "started" in one]
        if started and any("cast" not in one for one in stages):
            yield _of_load(problem, load, kilns.get(load.kiln, load.kiln), max(started), now)


def _of_load(problem: Problem, load: KilnLoad, kiln: str, started: datetime, now: datetime) -> Wait:
    end = _later(started, load.program_end - load.start)
    if now < end:
        return Wait(what=say("Program on {kiln}, load {load}", kiln=kiln, load=load.id), until=end, then=say("the soak begins"))
    soaked = _later(end, problem.rules.soak_minutes)
    return Wait(
        what=say("Soak on {kiln}, load {load}", kiln=kiln, load=load.id), until=soaked, then=say("its first flask may be cast")
    )


def _later(moment: datetime, minutes: int) -> datetime:
    return moment + timedelta(minutes=minutes)
