"""A flask with other contents: its tree, its temperature, its charge, and its place on the kiln floor."""

from __future__ import annotations

from dataclasses import replace

from domain.errors import DomainError
from domain.mould.rings import TreePiece, explain_misfit
from domain.planning.baseline.trees import Contents, Trees
from domain.planning.plan import KilnLoad, Plan, PlannedFlask
from domain.planning.problem import PlanJob, Problem
from domain.saying import say
from domain.units import Temperature, TemperatureRange


def without(problem: Problem, plan: Plan, flask: PlannedFlask, contents: Contents) -> Plan:
    """The plan when ``flask`` holds only ``contents``; gone when that is nothing."""
    if contents:
        return with_flask(problem, plan, flask, refilled(problem, flask, contents))
    loads = [_emptied(load, flask.id) for load in plan.loads]
    return replace(
        plan,
        flasks=tuple(f for f in plan.flasks if f.id != flask.id),
        loads=tuple(load for load in loads if load.flasks),
    )


def _emptied(load: KilnLoad, flask: str) -> KilnLoad:
    rows = (tuple(f for f in row if f != flask) for row in load.rows)
    return replace(load, rows=tuple(row for row in rows if row))


def refilled(problem: Problem, flask: PlannedFlask, contents: Contents) -> PlannedFlask:
    """The flask with other contents: in its own size if they fit it, else in the next that they fit and
    that its machine takes."""
    trees = Trees(problem)
    own, machine = problem.size.get(flask.size), problem.machine.get(flask.machine)
    taken = machine.fits if machine else frozenset()
    usable = [s for s in trees.usable_sizes(flask.melt) if s.id in taken]
    others = [s for s in usable if own and s.height >= own.height and s.id != own.id]
    for size in ([own] if own else []) + others:
        if trees.fits_tree(size.id, contents):
            return filled(problem, replace(flask, size=size.id), contents)
    raise DomainError(say("{flask} has no room for that: {why}.", flask=flask.id, why=misfit(problem, flask.size, contents)))


def misfit(problem: Problem, size_id: str, contents: Contents) -> str:
    size = problem.size.get(size_id)
    if size is None:
        return say("the shop has no flask size {size_id} any more", size_id=size_id)
    jobs = [(problem.job[j], n) for j, n in contents.items()]
    pieces = [TreePiece(j.id, j.size, n, j.metal_each, j.per_tree.get(size_id)) for j, n in jobs]
    return explain_misfit(pieces, size, problem.rules) or say("the tree is too high")


def filled(problem: Problem, flask: PlannedFlask, contents: Contents) -> PlannedFlask:
    trees = Trees(problem)
    rings = trees.rings(flask.size, contents)
    if rings is None:
        raise DomainError(say("{flask} has no room for that: {why}.", flask=flask.id, why=misfit(problem, flask.size, contents)))
    return replace(
        flask,
        rings=rings,
        temperature=_temperature(problem, flask.temperature, contents),
        charge=trees.charge(flask.melt, flask.size, contents),
    )


def _temperature(problem: Problem, wanted: Temperature, contents: Contents) -> Temperature:
    """The temperature in the common range that is nearest to what people have read."""
    common: TemperatureRange | None = None
    jobs: list[PlanJob] = [problem.job[j] for j in contents]
    for job in jobs:
        common = job.temperatures if common is None else common.intersection(job.temperatures)
        if common is None:
            names = ", ".join(j.name for j in jobs)
            raise DomainError(say("No flask temperature suits all of these: {names}.", names=names))
    return min(max(wanted, common.low), common.high) if common else wanted


def with_flask(problem: Problem, plan: Plan, old: PlannedFlask, new: PlannedFlask) -> Plan:
    changed = replace(plan, flasks=tuple(new if f.id == old.id else f for f in plan.flasks))
    if new.size == old.size:
        return changed
    return restacked(problem, changed, new.load)


def restacked(problem: Problem, plan: Plan, load_id: str) -> Plan:
    """The plan with the rows of one load set anew."""
    load = plan.load(load_id)
    if load is None:
        return plan
    flasks = [f for f in plan.flasks if f.load == load_id]
    rows = _rows(problem, load, flasks)
    if rows is None:
        name = problem.kiln[load.kiln].name if load.kiln in problem.kiln else load.kiln
        raise DomainError(
            say(
                "{name} has no room on its floor for the {flasks} flasks of load {load}.",
                name=name,
                flasks=len(flasks),
                load=load.id,
            )
        )
    return replace(plan, loads=tuple(replace(one, rows=rows) if one.id == load_id else one for one in plan.loads))


def _rows(problem: Problem, load: KilnLoad, flasks: list[PlannedFlask]) -> tuple[tuple[str, ...], ...] | None:
    counts: dict[str, int] = {}
    waiting: dict[str, list[str]] = {}
    for flask in flasks:
        counts[flask.size] = counts.get(flask.size, 0) + 1
        waiting.setdefault(flask.size, []).append(flask.id)
    kiln = problem.kiln.get(load.kiln)
    sizes = Trees(problem).stand(counts, kiln) if kiln else None
    if sizes is None:
        return None
    return tuple(tuple(waiting[size].pop(0) for size in row) for row in sizes)
