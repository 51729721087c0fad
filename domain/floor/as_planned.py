"""What a cast flask was to be, as the plan had it: kept with the cast, to compare the record with."""

from __future__ import annotations

from collections.abc import Mapping

from domain.floor.times import CastAs, PatternCast
from domain.metallurgy.pattern_metal import feed_metal, trunk_metal
from domain.planning.plan import Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.shop.jobs import Job


def cast_as(problem: Problem, plan: Plan, flask: PlannedFlask, jobs: Mapping[str, Job | None]) -> CastAs:
    """``jobs``: those of the flask by id; none for one that is gone."""
    machine, size, melt = problem.machine.get(flask.machine), problem.size.get(flask.size), problem.melt.get(flask.melt)
    sprues = None
    if size is not None and melt is not None:
        feed = feed_metal(problem.rules, melt.alloy.density).times(sum(flask.contents.values()))
        sprues = feed + trunk_metal(size, problem.rules, melt.alloy.density)
    return CastAs(
        alloy=flask.melt.partition("/")[0],
        flask_temperature=flask.temperature,
        machine=machine.name if machine else flask.machine,
        patterns=tuple(
            PatternCast(job=job, item=known.item, section=known.section, pieces=flask.contents[job])
            for job, known in jobs.items()
            if known is not None
        ),
        machine_id=flask.machine,
        size=flask.size,
        follows=_before(plan, flask),
        asked=flask.charge,
        sprues=sprues,
        button=size.button_volume if size else None,
    )


def _before(plan: Plan, flask: PlannedFlask) -> str:
    """The flask that is cast on the same machine until the moment at which this one begins; empty where there is none."""
    return next((f.id for f in plan.flasks if f.machine == flask.machine and f.cast_end == flask.cast_start), "")
