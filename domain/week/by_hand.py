"""Changes that a person makes to a plan. They are worked out as asked, however bad: the checker says
what is wrong with the result, and the levels what it is worth."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from domain.errors import DomainError
from domain.mould.rings import TreePiece, explain_misfit
from domain.planning.baseline.drafts import draft
from domain.planning.baseline.schedule import Schedule
from domain.planning.baseline.trees import Contents, Trees
from domain.planning.check import check
from domain.planning.clock import Minute
from domain.planning.measure import measure
from domain.planning.plan import FlaskCharge, From, KilnLoad, Plan, PlannedFlask
from domain.planning.problem import PlanJob, Problem
from domain.shop.lots import Lot
from domain.stock.orders import orders_for
from domain.stock.week_charges import week_charges
from domain.units import Mass, Temperature, TemperatureRange


def move_pieces(problem: Problem, plan: Plan, job: str, pieces: int, from_flask: str, to_flask: str | None) -> Plan:
    """``pieces`` of ``job`` out of one flask into another, or into a new one beside it (none).

    Trees, charges, flask temperatures, kiln rows and metal are worked out again; times stay. The
    result may break rules: ask the checker. Raises ``DomainError`` where there is nothing to check:
    the job is not there, the flask does not move, or no tree, temperature or floor takes the pieces.
    """
    source = _movable(problem, plan, from_flask)
    _asked_well(problem, source, job, pieces)
    remaining = {j: n - (pieces if j == job else 0) for j, n in source.contents.items()}
    kept = _without(problem, plan, source, {j: n for j, n in remaining.items() if n})
    if to_flask is None:
        return _into_new(problem, plan, kept, source, {job: pieces})
    if to_flask == from_flask:
        raise DomainError(f"The pieces are in {from_flask} already.")
    target = _movable(problem, plan, to_flask)
    if target.melt != source.melt:
        raise DomainError(
            f"{to_flask} is cast in {_metal(problem, target)}, {from_flask} in {_metal(problem, source)}: one alloy to a flask."
        )
    contents = {**target.contents, job: target.contents.get(job, 0) + pieces}
    return _finished(problem, plan, _with(problem, kept, target, _refilled(problem, target, contents)))


def _movable(problem: Problem, plan: Plan, flask_id: str) -> PlannedFlask:
    flask = plan.flask(flask_id)
    if flask is None:
        raise DomainError(f"There is no flask {flask_id} in this plan.")
    if any(fixed.id == flask_id for fixed in problem.fixed_flasks):
        raise DomainError(f"{flask_id} does not move: it is pinned, or work on it has begun.")
    return flask


def _asked_well(problem: Problem, source: PlannedFlask, job: str, pieces: int) -> None:
    there = source.contents.get(job, 0)
    if not there:
        raise DomainError(f"Job {job} has no pieces in {source.id}.")
    if not 1 <= pieces <= there:
        raise DomainError(f"{source.id} holds {there} of job {job}: move 1 to {there} of them.")
    if job not in problem.job:
        raise DomainError(f"Job {job} is not on the list any more; plan again.")


def _metal(problem: Problem, flask: PlannedFlask) -> str:
    melt = problem.melt.get(flask.melt)
    return melt.alloy.name if melt else flask.melt


def _without(problem: Problem, plan: Plan, flask: PlannedFlask, contents: Contents) -> Plan:
    """The plan when ``flask`` holds only ``contents``; gone when that is nothing."""
    if contents:
        return _with(problem, plan, flask, _refilled(problem, flask, contents))
    loads = [_emptied(load, flask.id) for load in plan.loads]
    return replace(
        plan,
        flasks=tuple(f for f in plan.flasks if f.id != flask.id),
        loads=tuple(load for load in loads if load.flasks),
    )


def _emptied(load: KilnLoad, flask: str) -> KilnLoad:
    rows = (tuple(f for f in row if f != flask) for row in load.rows)
    return replace(load, rows=tuple(row for row in rows if row))


def _refilled(problem: Problem, flask: PlannedFlask, contents: Contents) -> PlannedFlask:
    """The flask with other contents: in its own size if they fit it, else in the next that they fit."""
    trees = Trees(problem)
    own = problem.size.get(flask.size)
    others = [s for s in trees.usable_sizes(flask.melt) if own and s.height >= own.height and s.id != own.id]
    for size in ([own] if own else []) + others:
        if trees.fits_tree(size.id, contents):
            return _filled(problem, replace(flask, size=size.id), contents)
    raise DomainError(f"{flask.id} has no room for that: {_misfit(problem, flask.size, contents)}.")


def _misfit(problem: Problem, size_id: str, contents: Contents) -> str:
    size = problem.size.get(size_id)
    if size is None:
        return f"the shop has no flask size {size_id} any more"
    jobs = [(problem.job[j], n) for j, n in contents.items()]
    pieces = [TreePiece(j.id, j.size, n, j.metal_each, j.per_tree.get(size_id)) for j, n in jobs]
    return explain_misfit(pieces, size, problem.rules) or "the tree is too high"


def _filled(problem: Problem, flask: PlannedFlask, contents: Contents) -> PlannedFlask:
    trees = Trees(problem)
    rings = trees.rings(flask.size, contents)
    if rings is None:
        raise DomainError(f"{flask.id} has no room for that: {_misfit(problem, flask.size, contents)}.")
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
            raise DomainError(f"No flask temperature suits all of these: {names}.")
    return min(max(wanted, common.low), common.high) if common else wanted


def _with(problem: Problem, plan: Plan, old: PlannedFlask, new: PlannedFlask) -> Plan:
    changed = replace(plan, flasks=tuple(new if f.id == old.id else f for f in plan.flasks))
    if new.size == old.size:
        return changed
    return _restacked(problem, changed, new.load)


def _restacked(problem: Problem, plan: Plan, load_id: str) -> Plan:
    """The plan with the rows of one load set anew."""
    load = plan.load(load_id)
    if load is None:
        return plan
    flasks = [f for f in plan.flasks if f.load == load_id]
    rows = _rows(problem, load, flasks)
    if rows is None:
        name = problem.kiln[load.kiln].name if load.kiln in problem.kiln else load.kiln
        raise DomainError(f"{name} has no room on its floor for the {len(flasks)} flasks of load {load.id}.")
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


def _into_new(problem: Problem, plan: Plan, kept: Plan, source: PlannedFlask, contents: Contents) -> Plan:
    """A new flask in a load that is planned already, its own load first, where the rules leave it a
    place; else in a load of its own."""
    trees = Trees(problem)
    sizes = [s.id for s in trees.usable_sizes(source.melt) if trees.fits(source.melt, s.id, contents)]
    if not sizes:
        raise DomainError(f"No flask that the shop uses takes these pieces: {_misfit(problem, source.size, contents)}.")
    new = replace(source, id=_free_id(problem, plan))
    for load in _open_loads(problem, kept, source):
        for size in sizes:
            for flask in _riders(problem, kept, load, replace(new, size=size), contents):
                candidate = _stood(problem, kept, flask)
                if candidate is not None and not check(problem, _measured(problem, plan, candidate), metal=False):
                    return _finished(problem, plan, candidate)
    return _finished(problem, plan, _in_new_load(problem, kept, new, sizes[0], contents))


def _open_loads(problem: Problem, kept: Plan, source: PlannedFlask) -> list[KilnLoad]:
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
    for machine, start in _cast_slots(problem, kept, load, new):
        before = [f.temperature for f in riders if f.cast_start <= start]
        after = [f.temperature for f in riders if f.cast_start > start]
        if common is None or (before and before[-1] < common.low) or (after and after[0] > common.high):
            continue
        wanted = before[-1] if before else max([common.low, *after[:1]])
        timed = _timed(problem, kept, load, new, machine, start)
        yield _filled(problem, replace(timed, temperature=wanted), contents)


def _cast_slots(problem: Problem, kept: Plan, load: KilnLoad, new: PlannedFlask) -> Iterator[tuple[str, Minute]]:
    """Free machines after each cast of the load, and in the place of the old flask."""
    rules = problem.rules
    for machine in Trees(problem).machines(new.melt, new.size):
        lasts = machine.minutes_per_cast
        taken = [(f.cast_start, f.cast_end) for f in kept.flasks if f.machine == machine.id]
        ends = [f.cast_end for f in kept.flasks if f.load == load.id]
        starts = {end + gap for end in ends for gap in (0, rules.crucible_change_minutes, rules.step_soak_minutes)}
        starts |= {new.cast_start, load.program_end + rules.soak_minutes}
        for start in sorted(starts):
            if all(end <= start or begin >= start + lasts for begin, end in taken):
                yield machine.id, start


def _timed(problem: Problem, kept: Plan, load: KilnLoad, new: PlannedFlask, machine: str, cast_start: Minute) -> PlannedFlask:
    cast_end = cast_start + problem.machine[machine].minutes_per_cast
    invest_start = _bench_slot(problem, kept, load, new)
    knockout = cast_end + new.knockout_start - new.cast_end
    return replace(
        new,
        load=load.id,
        machine=machine,
        cast_start=cast_start,
        cast_end=cast_end,
        people=_people(problem, kept, new, machine, cast_start, cast_end),
        invest_start=invest_start,
        invest_end=invest_start + problem.rules.invest_minutes,
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
    busy = [(f.invest_start, f.invest_end) for f in kept.flasks]
    starts = {latest, *(start - lasts for start, _ in busy), *(s.closes - lasts for s in problem.shifts)}
    for start in sorted((s for s in starts if problem.now <= s <= latest), reverse=True):
        free = all(end <= start or begin >= start + lasts for begin, end in busy)
        if free and any(s.opens <= start and start + lasts <= s.closes for s in problem.shifts):
            return start
    return latest


def _in_new_load(problem: Problem, kept: Plan, new: PlannedFlask, size: str, contents: Contents) -> Plan:
    """The flask in a kiln load of its own, on the first day that has room, all else standing still."""
    frozen = replace(problem, fixed_flasks=kept.flasks, fixed_loads=kept.loads)
    trees = Trees(frozen)
    schedule = Schedule.of(trees)
    flask = draft(trees, new.id, new.melt, size, dict(contents))
    if flask is None or not schedule.insert(flask):
        why = next((o.reason for o in schedule.obstacles.values()), "no kiln burns it out")
        raise DomainError(f"There is no place for a new flask with these pieces: {why}.")
    return replace(kept, flasks=(*kept.flasks, *schedule.flasks()), loads=(*kept.loads, *schedule.loads()))


def _stood(problem: Problem, plan: Plan, flask: PlannedFlask) -> Plan | None:
    """The plan with one more flask, standing on its load's floor; none where the floor is full."""
    try:
        return _restacked(problem, replace(plan, flasks=(*plan.flasks, flask)), flask.load)
    except DomainError:
        return None


def _finished(problem: Problem, before: Plan, plan: Plan) -> Plan:
    """The plan with its metal and its levels worked out again, marked as made by hand.

    Charges of flasks that do not change stay as people have weighed them out, where the metal that is
    left suffices for the others; else all are shared out anew.
    """
    plan = _measured(problem, before, replace(plan, made_by="hand", seconds=0.0, notes=()))
    steady = _weighed_beside(problem, before, plan)
    if steady is not None and not any(v.rule == 9 for v in check(problem, steady)):
        return steady
    metal = week_charges(problem, plan.flasks)
    notes = tuple(f"{s.flask} has no charge: {s.blocker}. {s.remedy}" for s in metal.short)
    return replace(plan, charges=metal.charges, orders=metal.orders, notes=notes)


def _weighed_beside(problem: Problem, before: Plan, plan: Plan) -> Plan | None:
    """New charges for the changed flasks alone, from what the others leave; none where that is too little."""
    changed_ids = _charged_anew(before, plan)
    changed = [f for f in plan.flasks if f.id in changed_ids]
    kept_ids = {f.id for f in plan.flasks} - changed_ids
    kept = [c for c in before.charges if c.flask in kept_ids]
    ahead = {f.id for f in plan.flasks if f.cast_start >= problem.now}
    metal = week_charges(replace(problem, lots=_left_by(problem, [c for c in kept if c.flask in ahead])), changed)
    if metal.short:
        return None
    charges = (*kept, *(c for c in metal.charges if c.flask not in kept_ids))
    orders = orders_for(problem, plan.flasks, [c for c in charges if c.flask in ahead])
    return replace(plan, charges=charges, orders=orders)


def _charged_anew(before: Plan, plan: Plan) -> set[str]:
    """Flasks that changed or are gone, and those that are charged with what they would have given back."""
    then, now = {f.id: f for f in before.flasks}, {f.id: f for f in plan.flasks}
    changed = {f for f in then.keys() | now.keys() if then.get(f) != now.get(f)}
    while True:
        users = {c.flask for c in before.charges for p in c.parts if p.origin is From.RETURNS and p.ref in changed}
        if users <= changed:
            return changed
        changed |= users


def _left_by(problem: Problem, charges: list[FlaskCharge]) -> tuple[Lot, ...]:
    """The shelf when these charges have been taken from it."""
    taken: dict[str, Mass] = {}
    for part in (p for c in charges for p in c.parts if p.origin is From.LOT):
        taken[part.ref] = taken.get(part.ref, Mass(0)) + part.mass
    return tuple(replace(lot, mass=lot.mass - taken.get(lot.id, Mass(0))) for lot in problem.lots)


def _measured(problem: Problem, before: Plan, plan: Plan) -> Plan:
    return replace(plan, levels=measure(replace(problem, previous=problem.previous or before), plan))
