"""The week's page: what is late or left out first, then flasks by day, loads, levels, and how far
the plan still matches the shop."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from domain.planning.explain.reasons import Late, Reason
from domain.planning.measure import planned_pieces
from domain.planning.plan import FlaskCharge, From, KilnLoad, LeftOut, Level, Plan, PlannedFlask
from domain.planning.problem import PlanJob, Problem
from domain.saying import say
from domain.shop.jobs import Job
from domain.units import Mass, total
from webapp.formats import count
from webapp.views.trying import Fields, fields_to_try

LEVEL_WORDS = {
    "left out": (say("Left out"), say("piece × weight"), say("pieces × weight")),
    "weighted days late": (say("Days late"), say("day × weight"), say("days × weight")),
    "flasks and loads": (say("Flasks and kiln loads"), say("cost point"), say("cost points")),
    "overtime": (say("Overtime"), "min", "min"),
    "crucible changes": (say("Crucible changes"), say("change"), say("changes")),
    "idle minutes": (say("Machine waiting between casts"), "min", "min"),
    "changed flasks": (say("Flasks changed since the last plan"), say("flask"), say("flasks")),
}
"""What each objective is called on the screen, and its unit for one and for many."""

STAGE_WORDS = {
    "invested": say("invested"),
    "loaded": say("loaded"),
    "started": say("started"),
    "cast": say("cast"),
    "quenched": say("quenched"),
    "knocked out": say("knocked out"),
    "looked at": say("looked at"),
    "to be cast again": say("to be cast again"),
}
"""What has happened to a flask, as it is called on the screen."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LateJob:
    """``done``: the day of its last knock-out. ``reasons``: at most three, each with its change."""

    job: PlanJob
    done: date
    days: int
    flasks: tuple[str, ...]
    reasons: tuple[Why, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOutJob:
    """``reasons``: at most three, each with its change."""

    job: str
    name: str
    left_out: LeftOut
    reasons: tuple[Why, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Why:
    """One reason, the change that would mend it, and the fields with which What if tries it, none where it
    cannot."""

    reason: str
    remedy: str
    try_it: Fields


@dataclass(frozen=True, slots=True, kw_only=True)
class FlaskLine:
    """One row of the list of flasks. ``pin``: the manager's reason where it is pinned, ``stage``:
    what has been done with it; both empty where there is nothing."""

    flask: PlannedFlask
    alloy: str
    size: str
    machine: str
    kiln: str
    pieces: int
    jobs: tuple[tuple[str, int], ...]
    invested: datetime
    cast: datetime
    knocked_out: datetime
    fixed: bool
    pin: str | None
    stage: str
    to_order: Mass
    """Metal in its charge that is not here yet."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FlaskDay:
    day: date
    flasks: tuple[FlaskLine, ...]

    @property
    def charge(self) -> Mass:
        return total(Mass, (line.flask.charge for line in self.flasks))


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadLine:
    load: KilnLoad
    kiln: str
    program: str
    flasks: tuple[str, ...]
    loaded: datetime
    starts: datetime
    ends: datetime
    first_cast: datetime
    last_cast: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelLine:
    """``bound``: proven least value; ``by_hand``: what the careful manager's plan has. ``one`` and
    ``many`` are the unit."""

    name: str
    one: str
    many: str
    value: int
    bound: int | None
    proven: bool
    by_hand: int | None

    @property
    def how_good(self) -> str:
        """In words: how far from the best possible, given the levels above."""
        if self.proven:
            return say("proven best")
        if not self.bound:
            return say("not proven; the best possible is not known")
        percent = -(-100 * (self.value - self.bound) // self.bound)
        return say("at most {percent} % above the best possible", percent=percent)

    def said(self, value: int | None) -> str:
        """A value of this level with its unit."""
        if value is None:
            return say("not known")
        return say("{value} {unit}", value=value, unit=self.one if value == 1 else self.many)


def late_jobs(problem: Problem, plan: Plan, why: Iterable[Late]) -> tuple[LateJob, ...]:
    """The worst first: by days late times weight."""
    return tuple(_late_job(problem, plan, late) for late in why)


def _late_job(problem: Problem, plan: Plan, late: Late) -> LateJob:
    flasks = [f for f in plan.flasks if late.job in f.contents]
    return LateJob(
        job=problem.job[late.job],
        done=problem.clock.day_of(max(f.knockout_end for f in flasks)),
        days=late.days,
        flasks=tuple(f.id for f in flasks),
        reasons=_whys(late.reasons),
    )


def left_out_jobs(problem: Problem, plan: Plan, why: Mapping[str, tuple[Reason, ...]]) -> tuple[LeftOutJob, ...]:
    """As the plan lists them, each with what is found in its way now."""
    return tuple(_left_out_job(problem, entry, why.get(entry.job, ())) for entry in plan.left_out)


def _left_out_job(problem: Problem, entry: LeftOut, found: tuple[Reason, ...]) -> LeftOutJob:
    known = problem.job.get(entry.job)
    as_planned = (Why(reason=entry.reason, remedy=entry.remedy, try_it=()),)
    return LeftOutJob(job=entry.job, name=known.name if known else entry.job, left_out=entry, reasons=_whys(found) or as_planned)


def _whys(reasons: tuple[Reason, ...]) -> tuple[Why, ...]:
    return tuple(Why(reason=r.reason, remedy=r.remedy, try_it=fields_to_try(r.change)) for r in reasons[:3])


def flask_days(problem: Problem, plan: Plan, pins: Mapping[str, str], stages: Mapping[str, str]) -> tuple[FlaskDay, ...]:
    """Flasks by the day on which they are cast, in the order of their casts."""
    days: dict[date, list[FlaskLine]] = {}
    for flask in sorted(plan.flasks, key=lambda f: (f.cast_start, f.id)):
        line = flask_line(problem, plan, flask, pins, stages)
        days.setdefault(line.cast.date(), []).append(line)
    return tuple(FlaskDay(day=day, flasks=tuple(lines)) for day, lines in days.items())


def flask_line(problem: Problem, plan: Plan, flask: PlannedFlask, pins: Mapping[str, str], stages: Mapping[str, str]) -> FlaskLine:
    load = plan.load(flask.load)
    kiln = problem.kiln.get(load.kiln) if load else None
    size, machine = problem.size.get(flask.size), problem.machine.get(flask.machine)
    stage = stages.get(flask.id, "")
    return FlaskLine(
        flask=flask,
        alloy=alloy_name(problem, flask),
        size=size.name if size else flask.size,
        machine=machine.name if machine else flask.machine,
        kiln=kiln.name if kiln else (load.kiln if load else ""),
        pieces=sum(flask.contents.values()),
        jobs=tuple(flask.contents.items()),
        invested=problem.clock.local(flask.invest_start),
        cast=problem.clock.local(flask.cast_start),
        knocked_out=problem.clock.local(flask.knockout_end),
        fixed=flask.id in pins or bool(stages.get(flask.id)),
        pin=pins.get(flask.id),
        stage=STAGE_WORDS.get(stage, stage),
        to_order=on_order(plan, flask.id),
    )


def alloy_name(problem: Problem, flask: PlannedFlask) -> str:
    """The alloy, and whose metal where it is a customer's own."""
    melt = problem.melt.get(flask.melt)
    if melt is None:
        alloy = next((a for a in problem.shop.alloys if a.id == flask.melt.split("/")[0]), None)
        return alloy.name if alloy else flask.melt
    return say("{alloy}, customer's own metal", alloy=melt.alloy.name) if melt.own_lot else melt.alloy.name


def on_order(plan: Plan, flask: str) -> Mass:
    charges: list[FlaskCharge] = [c for c in plan.charges if c.flask == flask]
    return total(Mass, (part.mass for c in charges for part in c.parts if part.origin is From.ORDER))


def load_lines(problem: Problem, plan: Plan) -> tuple[LoadLine, ...]:
    lines = [_load_line(problem, plan, load) for load in sorted(plan.loads, key=lambda one: (one.start, one.id))]
    return tuple(line for line in lines if line is not None)


def _load_line(problem: Problem, plan: Plan, load: KilnLoad) -> LoadLine | None:
    flasks = sorted((f for f in plan.flasks if f.load == load.id), key=lambda f: f.cast_start)
    if not flasks:
        return None
    local = problem.clock.local
    kiln, program = problem.kiln.get(load.kiln), problem.program.get(load.program)
    return LoadLine(
        load=load,
        kiln=kiln.name if kiln else load.kiln,
        program=program.name if program else load.program,
        flasks=tuple(f.id for f in flasks),
        loaded=local(load.load_at),
        starts=local(load.start),
        ends=local(load.program_end),
        first_cast=local(flasks[0].cast_start),
        last_cast=local(flasks[-1].cast_start),
    )


def level_lines(levels: tuple[Level, ...], by_hand: Mapping[str, int]) -> tuple[LevelLine, ...]:
    return tuple(_level_line(level, by_hand.get(level.name)) for level in levels)


def _level_line(level: Level, by_hand: int | None) -> LevelLine:
    name, one, many = LEVEL_WORDS.get(level.name, (level.name, "", ""))
    return LevelLine(name=name, one=one, many=many, value=level.value, bound=level.bound, proven=level.proven, by_hand=by_hand)


def job_changes(plan: Plan, jobs: tuple[Job, ...]) -> tuple[str, ...]:
    """In words, which jobs the plan does not know, knows in another number, or knows in vain."""
    planned = planned_pieces(plan)
    for entry in plan.left_out:
        planned[entry.job] = planned.get(entry.job, 0) + entry.pieces
    now = {job.id: job.quantity for job in jobs}
    groups = (
        (say("added since this plan"), [j for j in now if j not in planned]),
        (say("taken off the list since this plan"), [j for j in planned if j not in now]),
        (say("with another quantity than in this plan"), [j for j in now if j in planned and planned[j] != now[j]]),
    )
    return tuple(
        say("{jobs} {words}: {names}", jobs=count(len(ids), "job"), words=words, names=_named(ids)) for words, ids in groups if ids
    )


def _named(ids: list[str], most: int = 6) -> str:
    shown = ", ".join(sorted(ids)[:most])
    return shown if len(ids) <= most else say("{shown} and {number} more", shown=shown, number=len(ids) - most)
