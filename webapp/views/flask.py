"""One flask: what is in it, what it is mixed, burnt out and charged with."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from domain.metallurgy.charge import ComposedCharge
from domain.metallurgy.pattern_metal import trunk_metal
from domain.mould.mix import InvestmentMix, investment_mix
from domain.planning.plan import ChargePart, From, MetalOrder, Plan, PlannedFlask
from domain.planning.problem import PlanJob, Problem
from domain.saying import say
from domain.shop.alloy import FinenessStandard
from domain.shop.investment import InvestmentKind
from domain.stock.composed import composed_charges
from domain.units import Mass, TemperatureRange, Volume, total


@dataclass(frozen=True, slots=True, kw_only=True)
class JobInFlask:
    """``known``: none for a job that is not on the list any more. ``elsewhere``: the pieces of the
    job in other flasks of the plan."""

    id: str
    name: str
    pieces: int
    known: PlanJob | None
    metal: Mass
    elsewhere: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartLine:
    """One thing to weigh. ``where``: what to take it from, in words; ``order``: when it must come."""

    part: ChargePart
    name: str
    where: str
    order: MetalOrder | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ChargeSheet:
    """``weighed``: sum of the parts. ``composed``: what they give; none where a part is not known any more."""

    parts: tuple[PartLine, ...]
    weighed: Mass
    standard: FinenessStandard | None
    composed: ComposedCharge | None


@dataclass(frozen=True, slots=True, kw_only=True)
class MixSheet:
    """``pour_by``: the end of the working time, counted from the start of mixing; ``gloss_off`` and
    ``rests_until`` on the same clock."""

    kind: InvestmentKind
    mix: InvestmentMix
    start: datetime
    pour_by: datetime
    gloss_off: datetime
    rests_until: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Another flask that pieces may move to, in words."""

    flask: str
    cast: datetime
    size: str
    pieces: int


def jobs_in(problem: Problem, plan: Plan, flask: PlannedFlask) -> tuple[JobInFlask, ...]:
    return tuple(_job_in(problem, plan, flask, job, count) for job, count in flask.contents.items())


def _job_in(problem: Problem, plan: Plan, flask: PlannedFlask, job_id: str, count: int) -> JobInFlask:
    job = problem.job.get(job_id)
    others = tuple((f.id, f.contents[job_id]) for f in plan.flasks if f.id != flask.id and job_id in f.contents)
    return JobInFlask(
        id=job_id,
        name=job.name if job else job_id,
        pieces=count,
        known=job,
        metal=job.metal_each.times(count) if job else Mass(0),
        elsewhere=others,
    )


def common_temperatures(problem: Problem, flask: PlannedFlask) -> TemperatureRange | None:
    """The range that all pieces share, as far as their jobs are known."""
    common: TemperatureRange | None = None
    for job in (problem.job[j] for j in flask.contents if j in problem.job):
        common = job.temperatures if common is None else common.intersection(job.temperatures)
        if common is None:
            return None
    return common


def mix_sheet(problem: Problem, flask: PlannedFlask) -> MixSheet | None:
    """What to mix for the flask, its tree deducted; none where size or investment are not known any more."""
    kind, mix = problem.investment.get(flask.investment), flask_mix(problem, flask)
    if kind is None or mix is None:
        return None
    start = problem.clock.local(flask.invest_start)
    end = problem.clock.local(flask.invest_end)
    return MixSheet(
        kind=kind,
        mix=mix,
        start=start,
        pour_by=start + timedelta(minutes=kind.working_minutes),
        gloss_off=start + timedelta(minutes=kind.gloss_off_minutes),
        rests_until=end + timedelta(minutes=kind.bench_set_minutes),
    )


def flask_mix(problem: Problem, flask: PlannedFlask) -> InvestmentMix | None:
    size, kind = problem.size.get(flask.size), problem.investment.get(flask.investment)
    return None if size is None or kind is None else investment_mix(size, kind, tree_volume(problem, flask))


def tree_volume(problem: Problem, flask: PlannedFlask) -> Volume:
    """Pieces, feeds and trunk, as the metal that will take their place; nothing where the alloy is not
    known any more."""
    size, melt = problem.size.get(flask.size), problem.melt.get(flask.melt)
    if size is None or melt is None:
        return Volume(0)
    pieces = total(Mass, (problem.job[j].metal_each.times(n) for j, n in flask.contents.items() if j in problem.job))
    density = melt.alloy.density
    return density.volume_of(pieces + trunk_metal(size, problem.rules, density))


def charge_sheet(problem: Problem, plan: Plan, flask: PlannedFlask) -> ChargeSheet | None:
    """What to weigh; none where the plan has no charge for the flask."""
    charge = next((c for c in plan.charges if c.flask == flask.id), None)
    if charge is None:
        return None
    melt = problem.melt.get(flask.melt)
    return ChargeSheet(
        parts=tuple(part_line(problem, plan, flask, part) for part in charge.parts),
        weighed=total(Mass, (part.mass for part in charge.parts)),
        standard=melt.alloy.standard if melt else None,
        composed=composed_charges(problem, plan.flasks, plan.charges).get(flask.id),
    )


def part_line(problem: Problem, plan: Plan, flask: PlannedFlask, part: ChargePart) -> PartLine:
    if part.origin is From.LOT:
        lot = next((one for one in problem.lots if one.id == part.ref), None)
        return PartLine(part=part, name=lot.name if lot else part.ref, where=say("lot {ref}", ref=part.ref), order=None)
    if part.origin is From.RETURNS:
        name = say("returns of {flask}", flask=part.ref)
        return PartLine(part=part, name=name, where=say("cleaned button and sprues"), order=None)
    metal = next((m for m in problem.shop.metals if m.id == part.ref), None)
    order = next((o for o in plan.orders if o.metal == part.ref and flask.id in o.flasks), None)
    return PartLine(part=part, name=metal.name if metal else part.ref, where=say("on order"), order=order)


def places(problem: Problem, plan: Plan, flask: PlannedFlask) -> tuple[Place, ...]:
    """Where its pieces might go: flasks of the same melt that may still change, by their casts."""
    fixed = {f.id for f in problem.fixed_flasks}
    others = [f for f in plan.flasks if f.melt == flask.melt and f.id != flask.id and f.id not in fixed]
    return tuple(
        Place(
            flask=f.id,
            cast=problem.clock.local(f.cast_start),
            size=problem.size[f.size].name if f.size in problem.size else f.size,
            pieces=sum(f.contents.values()),
        )
        for f in sorted(others, key=lambda f: f.cast_start)
    )


def people_names(problem: Problem, flask: PlannedFlask) -> tuple[str, ...]:
    names = {p.id: p.name for p in problem.shop.people}
    return tuple(names.get(p, p) for p in flask.people)


def last_day(problem: Problem, job: PlanJob, plan: Plan) -> date | None:
    """The day on which the job's last flask is knocked out; none where it is in no flask."""
    ends = [f.knockout_end for f in plan.flasks if job.id in f.contents]
    return problem.clock.day_of(max(ends)) if ends else None
