"""A new flask for pieces that are moved: beside the old one in a load that is planned, else in a load of its own."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import islice

from domain.errors import DomainError
from domain.planning.baseline.drafts import draft
from domain.planning.baseline.schedule import Schedule
from domain.planning.baseline.trees import Contents, Trees
from domain.planning.check import check
from domain.planning.clock import Minute
from domain.planning.measure import values
from domain.planning.plan import KilnLoad, Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.saying import say
from domain.week.refilling import filled, misfit, restacked
from domain.week.reweighing import measured

SLOTS = 8
"""Slots of a load that are weighed against each other for a new flask."""


def into_new(
    problem: Problem,
    plan: Plan,
    kept: Plan,
    source: PlannedFlask,
    contents: Contents,
    load: str | None = None,
    *,
    sound: bool = False,
) -> Plan:
    """A new flask in a load that is planned already (``load``, if one is named; else its own load
    first), where the rules leave it a place; else in a load of its own. Its metal is not worked out yet."""
    sizes, new = new_sizes(problem, source, contents), named_anew(problem, plan, source)
    passed = plan if sound else None
    for one in open_loads(problem, kept, source):
        if load in (None, one.id):
            for candidate in in_load(problem, plan, kept, new, contents, one, sizes):
                if not check(problem, candidate, metal=False, beside=passed):
                    return candidate
    if load is not None:
        raise DomainError(say("Load {load} has no place for a new flask with these pieces.", load=load))
    return in_new_load(problem, plan, kept, source, contents)


def in_load(
    problem: Problem, plan: Plan, kept: Plan, new: PlannedFlask, contents: Contents, load: KilnLoad, sizes: list[str]
) -> Iterator[Plan]:
    """Plans with ``new``, of one of these sizes, at each slot that this load leaves it; measured, the
    charges as they were. The best of the first ``SLOTS`` by the levels comes first. The checker has not
    seen them."""
    found = _at_slots(problem, plan, kept, new, contents, load, sizes)
    yield from sorted(islice(found, SLOTS), key=lambda candidate: values(candidate.levels))
    yield from found


def _at_slots(
    problem: Problem, plan: Plan, kept: Plan, new: PlannedFlask, contents: Contents, load: KilnLoad, sizes: list[str]
) -> Iterator[Plan]:
    for size in sizes:
        for flask in _riders(problem, kept, load, replace(new, size=size), contents):
            candidate = _stood(problem, kept, flask)
            if candidate is not None:
                yield measured(problem, plan, candidate)


def named_anew(problem: Problem, plan: Plan, source: PlannedFlask) -> PlannedFlask:
    """The same with the next flask number that no plan has used."""
    return replace(source, id=_free_id(problem, plan))


def new_sizes(problem: Problem, source: PlannedFlask, contents: Contents) -> list[str]:
    """Sizes that take the pieces alone. Raises ``DomainError`` where none does."""
    trees = Trees(problem)
    sizes = [s.id for s in trees.usable_sizes(source.melt) if trees.fits(source.melt, s.id, contents)]
    if not sizes:
        raise DomainError(say("No flask that the shop uses takes these pieces: {why}.", why=misfit(problem, source.size, contents)))
    return sizes


def open_loads(problem: Problem, kept: Plan, source: PlannedFlask) -> list[KilnLoad]:
    """Loads that a flask may still join, its own first, then the earliest."""
    fixed = {load.id for load in problem.fixed_loads}
    loads = [one for one in kept.loads if one.id not in fixed and one.load_at > problem.now]
    return sorted(loads, key=lambda one: (one.id != source.load, one.start))


def _free_id(problem: Problem, plan: Plan) -> str:
    """The next flask number that no plan has used."""
    used = {f.id for f in (*plan.flasks, *problem.fixed_flasks, *(problem.previous or plan).flasks)}
    numbers = [int(f.lstrip("F")) for f in used if f.lstrip("F").isdecimal()]
    return f"F{max(numbers, default=0) + 1}"


def _riders(problem: Problem, kept: Plan, load: KilnLoad, new: PlannedFlask, contents: Contents) -> Iterator[PlannedFlask]:
    """The new flask at each free slot of the load that its temperature allows."""
    common = Trees(problem).temperatures(contents)
    riders = sorted((f for f in kept.flasks if f.load == load.id), key=lambda f: f.cast_start)
    invest = _bench_slot(problem, kept, load, new)
    if invest < problem.now:
        return
    new = replace(new, invest_start=invest, invest_end=invest + problem.rules.invest_minutes)
    for machine, start in _cast_slots(problem, kept, load, new):
        before = [f.temperature for f in riders if f.cast_start <= start]
        after = [f.temperature for f in riders if f.cast_start > start]
        if common is None or (before and before[-1] < common.low) or (after and after[0] > common.high):
            continue
        wanted = before[-1] if before else max([common.low, *after[:1]])
        timed = _timed(problem, kept, load, new, machine, start)
        if len(timed.people) < problem.machine[machine].people:
            continue
        yield filled(problem, replace(timed, temperature=wanted), contents)


def _cast_slots(problem: Problem, kept: Plan, load: KilnLoad, new: PlannedFlask) -> Iterator[tuple[str, Minute]]:
    """Free machines after each cast of the load, and in the place of the old flask, while it may be hot."""
    rules = problem.rules
    ready = load.program_end + rules.soak_minutes
    for machine in Trees(problem).machines(new.melt, new.size):
        lasts = machine.minutes_per_cast
        taken = [(f.cast_start, f.cast_end) for f in kept.flasks if f.machine == machine.id]
        ends = [f.cast_end for f in kept.flasks if f.load == load.id]
        starts = {end + gap for end in ends for gap in (0, rules.crucible_change_minutes, rules.step_soak_minutes)}
        hot = {s for s in {new.cast_start, ready, *starts} if ready <= s <= ready + rules.hot_hold_minutes}
        for start in sorted(hot):
            if all(end <= start or begin >= start + lasts for begin, end in taken):
                yield machine.id, start


def _timed(problem: Problem, kept: Plan, load: KilnLoad, new: PlannedFlask, machine: str, cast_start: Minute) -> PlannedFlask:
    cast_end = cast_start + problem.machine[machine].minutes_per_cast
    knockout = cast_end + new.knockout_start - new.cast_end
    return replace(
        new,
        load=load.id,
        machine=machine,
        cast_start=cast_start,
        cast_end=cast_end,
        people=_people(problem, kept, new, machine, cast_start, cast_end),
        knockout_start=knockout,
        knockout_end=knockout + problem.rules.knockout_minutes,
    )


def _people(problem: Problem, kept: Plan, new: PlannedFlask, machine: str, start: Minute, end: Minute) -> tuple[str, ...]:
    """Casters who are there and free, the old flask's first; too few where there are no more."""
    latest = problem.rules.overtime_minutes
    there = [s.person for s in problem.shifts if s.casts and s.opens <= start and end <= s.closes + latest]
    busy = {p for f in kept.flasks if f.cast_start < end and start < f.cast_end for p in f.people}
    free = sorted((p for p in dict.fromkeys(there) if p not in busy), key=lambda p: p not in new.people)
    return tuple(free[: problem.machine[machine].people])


def _bench_slot(problem: Problem, kept: Plan, load: KilnLoad, new: PlannedFlask) -> Minute:
    """The last minute at which the bench is free and the flask still rests before it is loaded."""
    lasts = problem.rules.invest_minutes
    latest = load.load_at - problem.investment[new.investment].bench_set_minutes - lasts
    busy = [(f.invest_start, f.invest_end) for f in kept.flasks if f.invest_start < latest + lasts]
    starts = {latest, *(start - lasts for start, _ in busy), *(s.closes - lasts for s in problem.shifts)}
    for start in sorted((s for s in starts if problem.now <= s <= latest), reverse=True):
        free = not any(begin < start + lasts and start < end for begin, end in busy)
        if free and any(s.opens <= start and start + lasts <= s.closes for s in problem.shifts):
            return start
    return latest


def in_new_load(problem: Problem, plan: Plan, kept: Plan, source: PlannedFlask, contents: Contents) -> Plan:
    """The new flask in a kiln load of its own, on the first day that has room, all else standing still;
    measured, the charges as they were. Raises ``DomainError`` where no kiln has a place."""
    size, name = new_sizes(problem, source, contents)[0], _free_id(problem, plan)
    frozen = replace(problem, fixed_flasks=kept.flasks, fixed_loads=kept.loads)
    trees = Trees(frozen)
    schedule = Schedule.of(trees)
    flask = draft(trees, name, source.melt, size, dict(contents))
    if flask is None or not schedule.insert(flask):
        why = next((o.reason for o in schedule.obstacles.values()), say("no kiln burns it out"))
        raise DomainError(say("There is no place for a new flask with these pieces: {why}.", why=why))
    new = replace(kept, flasks=(*kept.flasks, *schedule.flasks()), loads=(*kept.loads, *schedule.loads()))
    return measured(problem, plan, new)


def _stood(problem: Problem, plan: Plan, flask: PlannedFlask) -> Plan | None:
    """The plan with one more flask, standing on its load's floor; none where the floor is full."""
    try:
        return restacked(problem, replace(plan, flasks=(*plan.flasks, flask)), flask.load)
    except DomainError:
        return None
