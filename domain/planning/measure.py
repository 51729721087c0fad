"""What a plan is worth, level by level: the definitions stand at ``plan.LEVELS``."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date
from itertools import pairwise

from domain.planning.plan import LEVELS, KilnLoad, Level, Plan, PlannedFlask
from domain.planning.problem import Problem


def measure(problem: Problem, plan: Plan) -> tuple[Level, ...]:
    """The levels of ``plan``, values only: bounds are for the planner that has proven them."""
    days = _casts_by_machine_and_day(problem, plan)
    values = (
        _left_out(problem, plan),
        _days_late(problem, plan),
        _flasks_and_loads(problem, plan),
        _overtime(problem, plan),
        sum(_changes(problem, casts) for casts in days),
        sum(_idle(problem, casts) for casts in days),
        changed_flasks(problem, plan),
    )
    return tuple(Level(name=name, value=value) for name, value in zip(LEVELS, values, strict=True))


def values(levels: Iterable[Level]) -> tuple[int, ...]:
    return tuple(level.value for level in levels)


def compare(one: Sequence[Level], other: Sequence[Level]) -> int:
    """−1 where ``one`` is better at the first level that tells them apart, 1 where it is worse,
    0 where they are equal."""
    a, b = values(one), values(other)
    return (a > b) - (a < b)


def planned_pieces(plan: Plan) -> dict[str, int]:
    """How many pieces of each job are in flasks."""
    counts: dict[str, int] = defaultdict(int)
    for flask in plan.flasks:
        for job, count in flask.contents.items():
            counts[job] += count
    return counts


def days_late(problem: Problem, plan: Plan) -> dict[str, int]:
    """Calendar days that a job is late, for those that are."""
    ends: dict[str, int] = {}
    for flask in plan.flasks:
        for job in flask.contents:
            ends[job] = max(ends.get(job, flask.knockout_end), flask.knockout_end)
    late = {
        j: (problem.clock.day_of(end) - date.fromisoformat(problem.job[j].due)).days for j, end in ends.items() if j in problem.job
    }
    return {job: days for job, days in late.items() if days > 0}


def _left_out(problem: Problem, plan: Plan) -> int:
    inside = planned_pieces(plan)
    return sum(job.weight * max(0, job.quantity - inside.get(job.id, 0)) for job in problem.jobs)


def _days_late(problem: Problem, plan: Plan) -> int:
    return sum(problem.job[job].weight * days for job, days in days_late(problem, plan).items())


def _flasks_and_loads(problem: Problem, plan: Plan) -> int:
    sizes, kilns = problem.size, problem.kiln
    flasks = sum(sizes[f.size].cost for f in plan.flasks if f.size in sizes)
    return flasks + sum(kilns[load.kiln].cost for load in plan.loads if load.kiln in kilns)


def _overtime(problem: Problem, plan: Plan) -> int:
    total = 0
    for day in problem.days:
        ends = [f.cast_end for f in plan.flasks if day.midnight <= f.cast_start < day.end]
        shifts = [s.closes for s in problem.shifts if s.casts and day.midnight <= s.opens < day.end]
        total += max(0, max(ends) - max(shifts)) if ends and shifts else 0
    return total


def _casts_by_machine_and_day(problem: Problem, plan: Plan) -> list[list[PlannedFlask]]:
    groups: dict[tuple[str, date], list[PlannedFlask]] = defaultdict(list)
    for flask in plan.flasks:
        groups[flask.machine, problem.clock.day_of(flask.cast_start)].append(flask)
    return [sorted(group, key=lambda f: f.cast_start) for group in groups.values()]


def family(problem: Problem, flask: PlannedFlask) -> str:
    """The crucible family that the flask is cast from; its melt's own name where nothing is known of it."""
    melt = problem.melt.get(flask.melt)
    return melt.alloy.family if melt else flask.melt


def _changes(problem: Problem, casts: list[PlannedFlask]) -> int:
    return sum(family(problem, a) != family(problem, b) for a, b in pairwise(casts))


def _idle(problem: Problem, casts: list[PlannedFlask]) -> int:
    change = problem.rules.crucible_change_minutes
    gaps = (b.cast_start - a.cast_end - change * (family(problem, a) != family(problem, b)) for a, b in pairwise(casts))
    return sum(max(0, gap) for gap in gaps)


def changed_flasks(problem: Problem, plan: Plan) -> int:
    """Flasks that people have read of, not pinned, that are gone or another."""
    if problem.previous is None:
        return 0
    pinned = {f.id for f in problem.fixed_flasks}
    then, now = _as_read(problem.previous), _as_read(plan)
    return sum(now.get(flask_id) != what for flask_id, what in then.items() if flask_id not in pinned)


def _as_read(plan: Plan) -> dict[str, tuple[object, ...]]:
    loads: dict[str, KilnLoad] = {load.id: load for load in plan.loads}
    return {f.id: _facts(f, loads.get(f.load)) for f in plan.flasks}


def _facts(flask: PlannedFlask, load: KilnLoad | None) -> tuple[object, ...]:
    ride = (load.id, load.kiln, load.program, load.start) if load else ()
    return (flask.melt, sorted(flask.contents.items()), flask.size, flask.machine, flask.cast_start, ride)
