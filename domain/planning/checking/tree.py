"""Rules 1 to 4: one alloy, one temperature, a tree that fits, a charge that the crucible holds."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

from domain.mould.ring import Ring
from domain.planning.checking import arithmetic
from domain.planning.checking.case import Case, Violation, degrees, grams, jobs_of, millimetres, pieces_of
from domain.planning.plan import PlannedFlask
from domain.planning.problem import PlanJob
from domain.saying import say
from domain.shop.flask import FlaskSize
from domain.units import Length, Mass

ROUNDING = 2
"""milligrams by which two ways to round a charge may differ"""


def one_alloy(case: Case) -> Iterator[Violation]:
    """Rule 1: one alloy and one owner's metal in a flask, on a machine that melts it."""
    for flask in case.unlooked:
        where = f"flask {flask.id}"
        melt = case.problem.melt.get(flask.melt)
        if melt is None:
            yield Violation(
                rule=1,
                where=where,
                message=say("flask {flask} is to be cast from {melt}, which nobody knows", flask=flask.id, melt=flask.melt),
            )
            continue
        for job in jobs_of(flask):
            known = case.problem.job.get(job)
            if known and known.melt != flask.melt:
                text = say(
                    "flask {flask} is cast from {melt}, job {job} in it is {melt2}",
                    flask=flask.id,
                    melt=flask.melt,
                    job=job,
                    melt2=known.melt,
                )
                yield Violation(rule=1, where=where, message=text)
        if flask.machine in case.problem.machine and flask.machine not in melt.machines:
            text = say(
                "machine {machine} does not melt {melt}, flask {flask} is cast there",
                machine=flask.machine,
                melt=flask.melt,
                flask=flask.id,
            )
            yield Violation(rule=1, where=where, message=text)


def one_temperature(case: Case) -> Iterator[Violation]:
    """Rule 2: the flask's temperature suits every piece in it."""
    for flask in case.unlooked:
        for job in jobs_of(flask):
            known = case.problem.job.get(job)
            if known and not known.temperatures.low <= flask.temperature <= known.temperatures.high:
                span = say("{low} to {high}", low=degrees(known.temperatures.low), high=degrees(known.temperatures.high))
                text = say(
                    "flask {flask} is cast at {temperature}, job {job} in it wants {span}",
                    flask=flask.id,
                    temperature=degrees(flask.temperature),
                    job=job,
                    span=span,
                )
                yield Violation(rule=2, where=f"flask {flask.id}", message=text)


def tree_fits(case: Case) -> Iterator[Violation]:
    """Rule 3: rings, height, reach, heavy pieces near the button."""
    for flask in case.unlooked:
        size = case.problem.size.get(flask.size)
        if size is None:
            yield _tree(
                flask, say("flask {flask} is of size {size}, which the shop does not have", flask=flask.id, size=flask.size)
            )
            continue
        for number, ring in enumerate(flask.rings, 1):
            yield from _ring(case, flask, size, ring, number)
        yield from _height(case, flask, size)
        yield from _heavy_low(case, flask)


def _tree(flask: PlannedFlask, text: str) -> Violation:
    return Violation(rule=3, where=f"flask {flask.id}", message=text)


def _ring(case: Case, flask: PlannedFlask, size: FlaskSize, ring: Ring, number: int) -> Iterator[Violation]:
    name = say("ring {number} of flask {flask}", number=number, flask=flask.id)
    known = [(case.problem.job[job], count) for job, count in ring.pieces if job in case.problem.job]
    if not ring.pieces:
        yield _tree(flask, say("{name} holds no piece", name=name))
    if ring.height.base < 0:
        yield _tree(flask, say("{name} takes {height} of the trunk, less than nothing", name=name, height=millimetres(ring.height)))
    if ring.by_count:
        yield from _counted(case, flask, size, ring, name, known)
    else:
        yield from _set_around(case, flask, size, ring, name, known)


def _counted(
    case: Case, flask: PlannedFlask, size: FlaskSize, ring: Ring, name: str, known: list[tuple[PlanJob, int]]
) -> Iterator[Violation]:
    if len({job for job, _ in ring.pieces}) > 1:
        yield _tree(flask, say("{name} goes by the shop's own pieces per tree and holds more than one job", name=name))
        return
    for job, _ in known[:1]:
        count = sum(n for _, n in known)
        full = job.per_tree.get(size.id, 0)
        if full < 1:
            yield _tree(
                flask,
                say("{name}: the shop gives no pieces per tree for job {job} in size {size}", name=name, job=job.id, size=size.id),
            )
            continue
        if count > full:
            yield _tree(
                flask,
                say(
                    "{name} holds {count} of job {job}, the shop says {full} per tree in size {size}",
                    name=name,
                    count=count,
                    job=job.id,
                    full=full,
                    size=size.id,
                ),
            )
        need = -(-count * arithmetic.usable_height(size, case.problem.rules) // full)
        if ring.height.base < need:
            taken, asked = millimetres(ring.height), millimetres(Length(need))
            yield _tree(
                flask,
                say(
                    "{name} takes {taken}, {count} of job {job} at {full} per tree take {asked}",
                    name=name,
                    taken=taken,
                    count=count,
                    job=job.id,
                    full=full,
                    asked=asked,
                ),
            )


def _set_around(
    case: Case, flask: PlannedFlask, size: FlaskSize, ring: Ring, name: str, known: list[tuple[PlanJob, int]]
) -> Iterator[Violation]:
    rules = case.problem.rules
    room = arithmetic.circle(size, rules)
    widths = sum(count * (job.size.width.base + rules.piece_gap.base) for job, count in known)
    if widths > room:
        text = say(
            "{name}: the pieces with their gaps are {widths} wide, the circle is {room}",
            name=name,
            widths=millimetres(Length(widths)),
            room=millimetres(Length(room)),
        )
        yield _tree(flask, text)
    for job, _ in known:
        if job.per_tree.get(size.id):
            yield _tree(
                flask,
                say(
                    "{name}: job {job} goes by the shop's {per_tree} pieces per tree, not by rings",
                    name=name,
                    job=job.id,
                    per_tree=job.per_tree[size.id],
                ),
            )
        if ring.height < job.size.height:
            text = say(
                "{name} takes {height}, a piece of job {job} is {height2} high",
                name=name,
                height=millimetres(ring.height),
                job=job.id,
                height2=millimetres(job.size.height),
            )
            yield _tree(flask, text)
        if not _clear_of_wall(case, size, job):
            text = say(
                "{name}: job {job} reaches {reach} out and comes too near the wall of size {size}",
                name=name,
                job=job.id,
                reach=millimetres(job.size.reach),
                size=size.id,
            )
            yield _tree(flask, text)


def _clear_of_wall(case: Case, size: FlaskSize, job: PlanJob) -> bool:
    """The box's outer corners by Pythagoras, all doubled to stay in whole micrometres."""
    rules = case.problem.rules
    outer = 2 * (arithmetic.root(size, rules) + job.size.reach.base)
    inside = size.inner_diameter.base - 2 * rules.wall_clearance.base
    return inside > 0 and outer**2 + job.size.width.base**2 <= inside**2


def _height(case: Case, flask: PlannedFlask, size: FlaskSize) -> Iterator[Violation]:
    rules = case.problem.rules
    tall = sum(ring.height.base for ring in flask.rings) + max(0, len(flask.rings) - 1) * rules.ring_gap.base
    room = arithmetic.usable_height(size, rules)
    if tall > room:
        text = say(
            "the rings of flask {flask} take {tall}, size {size} has {room}",
            flask=flask.id,
            tall=millimetres(Length(tall)),
            size=size.id,
            room=millimetres(Length(room)),
        )
        yield _tree(flask, text)


def _heavy_low(case: Case, flask: PlannedFlask) -> Iterator[Violation]:
    means = [_mean_metal(case, ring) for ring in flask.rings]
    for number, (below, above) in enumerate(pairwise(means), 1):
        if below is not None and above is not None and above > below:
            text = say(
                "ring {value} of flask {flask} holds heavier pieces than ring {number}, which is nearer the button",
                value=number + 1,
                flask=flask.id,
                number=number,
            )
            yield _tree(flask, text)


def _mean_metal(case: Case, ring: Ring) -> Fraction | None:
    known = [(case.problem.job[job], count) for job, count in ring.pieces if job in case.problem.job]
    count = sum(n for _, n in known)
    return Fraction(sum(job.metal_each.base * n for job, n in known), count) if count > 0 else None


def kept_together(case: Case) -> Iterator[Violation]:
    """Rule 3: a job that may not be split is on one tree. What already is elsewhere stays there."""
    for job in case.problem.jobs:
        holders = case.holders.get(job.id, [])
        if job.may_split or not any(case.is_free(f) for f in holders):
            continue
        spared = sum(entry.pieces for entry in case.plan.left_out if entry.job == job.id)
        if len(holders) > 1 or spared > 0:
            names = ", ".join(f.id for f in holders)
            rest = say(", {spared} are left out", spared=spared) if spared > 0 else ""
            yield Violation(
                rule=3,
                where=f"job {job.id}",
                message=say("job {job} may not be split; its pieces are in {names}{rest}", job=job.id, names=names, rest=rest),
            )


def charge_fits(case: Case) -> Iterator[Violation]:
    """Rule 4: the charge is right, and the machine takes it and the flask."""
    for flask in case.unlooked:
        where = f"flask {flask.id}"
        yield from (Violation(rule=4, where=where, message=text) for text in _weighed(case, flask))
        yield from (Violation(rule=4, where=where, message=text) for text in _crucible(case, flask))


def _weighed(case: Case, flask: PlannedFlask) -> Iterator[str]:
    size, melt = case.problem.size.get(flask.size), case.problem.melt.get(flask.melt)
    if size is None or melt is None or any(job not in case.problem.job for job in jobs_of(flask)):
        return
    pieces = sum(count * case.problem.job[job].metal_each.base for job, count in pieces_of(flask))
    right = arithmetic.charge(pieces, size, case.problem.rules, melt.alloy)
    if abs(flask.charge.base - right) > ROUNDING:
        yield say(
            "flask {flask} is planned with a charge of {charge}, its tree and button need {right}",
            flask=flask.id,
            charge=grams(flask.charge),
            right=grams(Mass(right)),
        )


def _crucible(case: Case, flask: PlannedFlask) -> Iterator[str]:
    machine, melt = case.problem.machine.get(flask.machine), case.problem.melt.get(flask.melt)
    if machine is None:
        return
    if flask.size not in machine.fits:
        yield say(
            "machine {machine} does not take flask {flask} of size {size}", machine=machine.id, flask=flask.id, size=flask.size
        )
    if flask.charge > machine.crucible_mass:
        yield say(
            "flask {flask} wants {charge}, the crucible of {machine} takes {crucible_mass}",
            flask=flask.id,
            charge=grams(flask.charge),
            machine=machine.id,
            crucible_mass=grams(machine.crucible_mass),
        )
    # a volume is kept to the nearest nanolitre, so less than one over is not over
    if melt and flask.charge.base * arithmetic.MILLION >= (machine.crucible_volume.base + 1) * melt.alloy.density.base:
        limit = Mass(machine.crucible_volume.base * melt.alloy.density.base // arithmetic.MILLION)
        takes = say(
            "the crucible of {machine} takes {limit} of {melt} by volume", machine=machine.id, limit=grams(limit), melt=flask.melt
        )
        yield say("flask {flask} wants {charge}, {takes}", flask=flask.id, charge=grams(flask.charge), takes=takes)
