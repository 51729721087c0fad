"""What goes on paper: the day, a flask's ticket, charge and checklist, a kiln load's program."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from domain.planning.plan import KilnLoad, Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.safety.checklist import Caution, Pause, Point, cautions_for, pause_title
from domain.safety.context import FlaskContext, flask_context
from domain.saying import listed, say
from domain.shop.alloy import Alloy
from domain.units import Mass, Temperature, TemperatureRange
from webapp.formats import bulk, mass, temperature, temperature_range
from webapp.reading import POWDER_POINT
from webapp.views.flask import MixSheet, common_temperatures, flask_mix, mix_sheet, people_names
from webapp.views.today import Task, queue
from webapp.views.week import alloy_name


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetHead:
    """What identifies a sheet: ``about`` in large letters, the day it is for, the plan it comes from."""

    about: str
    day: date
    version: int
    printed: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Times:
    """A flask's way through the days, in the shop's local time."""

    invest: datetime
    load: datetime | None
    start: datetime | None
    cast: datetime
    cast_end: datetime
    knockout: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class FlaskFacts:
    """``kiln`` and ``machine`` by name; ``alloy`` is none where the shop does not keep it any more."""

    flask: PlannedFlask
    alloy_name: str
    alloy: Alloy | None
    size: str
    kiln: str
    program: str
    machine: str
    people: tuple[str, ...]
    times: Times
    mix: MixSheet | None
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PauseSheet:
    """``shared``: the other flasks for which it is ticked at once."""

    title: str
    shared: tuple[str, ...]
    points: tuple[tuple[Point, str], ...]
    """each point with what its reading should be, in words; empty where nothing is expected"""


@dataclass(frozen=True, slots=True, kw_only=True)
class DayFacts:
    """``alloys``, ``sizes`` and ``powder`` by flask id; ``people``: name, from, to."""

    tasks: tuple[Task, ...]
    loads: tuple[KilnLoad, ...]
    people: tuple[tuple[str, datetime, datetime], ...]
    alloys: dict[str, str]
    sizes: dict[str, str]
    powder: dict[str, Mass]


def flask_facts(problem: Problem, plan: Plan, flask: PlannedFlask) -> FlaskFacts:
    size, machine = problem.size.get(flask.size), problem.machine.get(flask.machine)
    melt, load = problem.melt.get(flask.melt), plan.load(flask.load)
    kiln = problem.kiln.get(load.kiln) if load else None
    program = problem.program.get(load.program) if load else None
    context = context_of_flask(problem, flask)
    return FlaskFacts(
        flask=flask,
        alloy_name=alloy_name(problem, flask),
        alloy=melt.alloy if melt else None,
        size=size.name if size else flask.size,
        kiln=kiln.name if kiln else "",
        program=program.name if program else "",
        machine=machine.name if machine else flask.machine,
        people=people_names(problem, flask),
        times=_times(problem, flask, load),
        mix=mix_sheet(problem, flask),
        cautions=cautions_for(context) if context else (),
    )


def _times(problem: Problem, flask: PlannedFlask, load: KilnLoad | None) -> Times:
    local = problem.clock.local
    return Times(
        invest=local(flask.invest_start),
        load=local(load.load_at) if load else None,
        start=local(load.start) if load else None,
        cast=local(flask.cast_start),
        cast_end=local(flask.cast_end),
        knockout=local(flask.knockout_start),
    )


def context_of_flask(problem: Problem, flask: PlannedFlask) -> FlaskContext | None:
    """What the flask's cautions depend on; none where the shop does not keep its alloy, machine, size
    or investment any more."""
    melt, machine = problem.melt.get(flask.melt), problem.machine.get(flask.machine)
    size, kind = problem.size.get(flask.size), problem.investment.get(flask.investment)
    mix = flask_mix(problem, flask)
    if melt is None or machine is None or size is None or kind is None:
        return None
    in_flask = {problem.job[j].material for j in flask.contents if j in problem.job}
    return flask_context(
        melt.alloy,
        machine,
        size,
        kind,
        [m for m in problem.shop.materials if m.id in in_flask],
        people=len(flask.people),
        flask_temperature=flask.temperature,
        charge=flask.charge,
        powder=mix.powder if mix else Mass(0),
        flask_range=common_temperatures(problem, flask),
    )


def pause_sheet(pause: Pause, context: FlaskContext, points: tuple[Point, ...], shared: tuple[str, ...]) -> PauseSheet:
    return PauseSheet(
        title=pause_title(pause, context), points=tuple((point, expected_words(point)) for point in points), shared=shared
    )


def expected_words(point: Point) -> str:
    """What the reading should be."""
    if isinstance(point.expected, TemperatureRange):
        return temperature_range(point.expected)
    if isinstance(point.expected, Temperature):
        return temperature(point.expected)
    if isinstance(point.expected, Mass):
        return bulk(point.expected) if point.id == POWDER_POINT else mass(point.expected)
    bounds = [say("not above {not_above}", not_above=temperature(point.not_above))] if point.not_above else []
    bounds += [say("not below {not_below}", not_below=temperature(point.not_below))] if point.not_below else []
    return listed(bounds)


def day_facts(problem: Problem, plan: Plan, day: date, now: datetime) -> DayFacts:
    """The day's queue as planned, with who is there."""
    on_day = [s for s in problem.shifts if problem.clock.day_of(s.opens) == day]
    names = {p.id: p.name for p in problem.shop.people}
    local = problem.clock.local
    mixes = {f.id: flask_mix(problem, f) for f in plan.flasks}
    return DayFacts(
        tasks=queue(problem, plan, day, {}, now),
        alloys={f.id: alloy_name(problem, f) for f in plan.flasks},
        sizes={f.id: problem.size[f.size].name if f.size in problem.size else f.size for f in plan.flasks},
        powder={flask: mix.powder for flask, mix in mixes.items() if mix},
        loads=tuple(load for load in plan.loads if problem.clock.day_of(load.start) == day),
        people=tuple((names.get(s.person, s.person), local(s.opens), local(s.closes)) for s in on_day),
    )
