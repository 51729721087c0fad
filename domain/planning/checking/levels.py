"""What the plan says of itself: the objectives, measured again."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from itertools import pairwise

from domain.planning.checking.case import Case, Violation, pieces_of
from domain.planning.plan import LEVELS, Plan, PlannedFlask
from domain.saying import say


def levels_hold(case: Case) -> Iterator[Violation]:
    """The plan's levels are what its flasks and loads give, and no bound lies above its value."""
    for level in case.plan.levels:
        measure = MEASURES.get(level.name)
        if measure is None:
            yield Violation(
                rule=0, where="plan", message=say("the plan gives a value for “{level}”, which is no objective", level=level.name)
            )
            continue
        value = measure(case)
        if value != level.value:
            text = say(
                "the plan claims {level} for {level2}, its flasks and loads give {value}",
                level=level.value,
                level2=level.name,
                value=value,
            )
            yield Violation(rule=0, where="plan", message=text)
        elif level.bound is not None and level.bound > value:
            text = say(
                "the plan claims that {level} cannot be under {bound}, and has {value}",
                level=level.name,
                bound=level.bound,
                value=value,
            )
            yield Violation(rule=0, where="plan", message=text)


def _left_out(case: Case) -> int:
    return sum(j.weight * max(0, j.quantity - case.placed.get(j.id, 0)) for j in case.problem.jobs)


def _days_late(case: Case) -> int:
    last: dict[str, int] = {}
    for flask in case.plan.flasks:
        for job, _ in pieces_of(flask):
            last[job] = max(last.get(job, flask.knockout_end), flask.knockout_end)
    jobs = [j for j in case.problem.jobs if j.id in last]
    return sum(j.weight * max(0, (case.day(last[j.id]) - date.fromisoformat(j.due)).days) for j in jobs)


def _cost(case: Case) -> int:
    sizes, kilns = case.problem.size, case.problem.kiln
    flasks = sum(sizes[f.size].cost for f in case.plan.flasks if f.size in sizes)
    return flasks + sum(kilns[load.kiln].cost for load in case.plan.loads if load.kiln in kilns)


def _overtime(case: Case) -> int:
    last: dict[date, int] = {}
    for flask in case.plan.flasks:
        day = case.day(flask.cast_start)
        last[day] = max(last.get(day, flask.cast_end), flask.cast_end)
    closes: dict[date, int] = {}
    for shift in case.problem.shifts:
        if shift.casts:
            day = case.day(shift.opens)
            closes[day] = max(closes.get(day, shift.closes), shift.closes)
    return sum(max(0, end - closes[day]) for day, end in last.items() if day in closes)


def _neighbours(case: Case) -> Iterator[tuple[PlannedFlask, PlannedFlask]]:
    """Consecutive casts of one machine on one day."""
    for casts in case.by_machine.values():
        for before, after in pairwise(casts):
            if case.day(before.cast_start) == case.day(after.cast_start):
                yield before, after


def _crucible_changes(case: Case) -> int:
    return sum(case.family(a) != case.family(b) for a, b in _neighbours(case))


def _idle(case: Case) -> int:
    change = case.problem.rules.crucible_change_minutes
    return sum(
        max(0, b.cast_start - a.cast_end - (change if case.family(a) != case.family(b) else 0)) for a, b in _neighbours(case)
    )


def _changed(case: Case) -> int:
    previous = case.problem.previous
    if previous is None:
        return 0
    pinned = {f.id for f in case.problem.fixed_flasks}
    now = {f.id: _as_read(case.plan, f) for f in case.plan.flasks}
    return sum(now.get(f.id) != _as_read(previous, f) for f in previous.flasks if f.id not in pinned)


def _as_read(plan: Plan, flask: PlannedFlask) -> tuple[object, ...]:
    """What people have read of a flask, and would have to read again."""
    load = next((known for known in plan.loads if known.id == flask.load), None)
    ride = (load.kiln, load.program, load.start) if load else None
    return flask.contents, flask.size, flask.machine, flask.cast_start, flask.load, ride


MEASURES: dict[str, Callable[[Case], int]] = dict(
    zip(LEVELS, (_left_out, _days_late, _cost, _overtime, _crucible_changes, _idle, _changed), strict=True)
)
