"""The week for the wall: days as columns, and under each what is invested, fired, cast and due."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import groupby
from textwrap import wrap

from domain.planning.clock import Minute
from domain.planning.plan import KilnLoad, Plan, PlannedFlask
from domain.planning.problem import PlanJob, Problem
from domain.saying import heard, listed, say
from webapp.formats import clock, day, moment
from webapp.views.flask import last_day, people_names
from webapp.views.week import alloy_name

STEPS = (14, 13, 12, 11, 10, 9, 8, 7)
"""Sizes of type in points, the largest that fits is taken."""
WIDTH_MM, HEIGHT_MM = 261.0, 162.0
"""What is left for the days on the narrower (Letter) and on the lower (A4) of both papers."""
MM_PER_POINT = 25.4 / 72
LETTER, LINE = 0.56, 1.25
"""How wide a letter is and how high a line, in sizes of type; a little more than they are, so that all fits."""


@dataclass(frozen=True, slots=True)
class Entry:
    """``at``: its time, empty where it has none. ``name`` stands out. ``rest``: the details. ``under``: what it shares
    with those before and after it, and stands above them once."""

    at: str
    name: str
    rest: str
    under: str = ""

    def lines(self, letters: int) -> int:
        return _lines(f"{self.at} {self.name} {heard(self.rest)}", letters)


@dataclass(frozen=True, slots=True, kw_only=True)
class WallDay:
    """One column. ``parts``: heading and entries of each kind of work, those without any left away."""

    day: date
    parts: tuple[tuple[str, tuple[Entry, ...]], ...]

    def lines(self, letters: int) -> int:
        return sum(1 + sum(e.lines(letters) for e in entries) + _unders(entries, letters) for _, entries in self.parts)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """``step``: its size of type, in points. ``weeks``: the Mondays of the other weeks with work."""

    days: tuple[WallDay, ...]
    step: int
    weeks: tuple[date, ...]


def _lines(text: str, letters: int) -> int:
    return len(wrap(text, max(letters, 8), subsequent_indent="  ")) or 1


def _unders(entries: Iterable[Entry], letters: int) -> int:
    return sum(_lines(heard(under), letters) for under, _ in groupby(entries, key=lambda e: e.under) if under)


def monday_of(day: date) -> date:
    return day - timedelta(days=day.weekday())


def wall_of(problem: Problem, plan: Plan, shown: date) -> Wall:
    """The week from Monday to Sunday in which ``shown`` lies. A day on which nobody is here and nothing is done or due
    has no column."""
    monday = monday_of(shown)
    days = [_day(problem, plan, monday + timedelta(days=n), first=n == 0) for n in range(7)]
    columns = tuple(one for one in days if one.parts)
    return Wall(days=columns, step=_step(columns), weeks=_weeks(problem, plan, monday))


def _weeks(problem: Problem, plan: Plan, but: date) -> tuple[date, ...]:
    times = [t for f in plan.flasks for t in (f.invest_start, f.cast_start)]
    return tuple(sorted({monday_of(problem.clock.day_of(t)) for t in times} - {but}))


def _day(problem: Problem, plan: Plan, on: date, *, first: bool) -> WallDay:
    def today(minute: Minute) -> bool:
        return problem.clock.day_of(minute) == on

    invest = [f for f in sorted(plan.flasks, key=lambda f: f.invest_start) if today(f.invest_start)]
    casts = [f for f in sorted(plan.flasks, key=lambda f: f.cast_start) if today(f.cast_start)]
    parts = (
        (say("Here"), _here(problem, on)),
        (say("Invest"), tuple(_invest(problem, f) for f in invest)),
        (say("Kilns"), tuple(_load(problem, one) for one in sorted(plan.loads, key=lambda one: one.start) if today(one.start))),
        (say("Cast"), tuple(_cast(problem, f) for f in casts)),
        (say("Due"), tuple(_due(problem, plan, job, on) for job in _due_jobs(problem, plan, on, first=first))),
    )
    return WallDay(day=on, parts=tuple((name, entries) for name, entries in parts if entries))


def _here(problem: Problem, on: date) -> tuple[Entry, ...]:
    names = {p.id: p.name for p in problem.shop.people}
    local = problem.clock.local
    shifts = [s for s in problem.shifts if problem.clock.day_of(s.opens) == on]
    return tuple(Entry(f"{clock(local(s.opens))}–{clock(local(s.closes))}", names.get(s.person, s.person), "") for s in shifts)


def _invest(problem: Problem, flask: PlannedFlask) -> Entry:
    return Entry(clock(problem.clock.local(flask.invest_start)), flask.id, _size(problem, flask))


def _size(problem: Problem, flask: PlannedFlask) -> str:
    """Its name without what stands in brackets: the other unit of the same size."""
    size = problem.size.get(flask.size)
    return re.sub(r"\s*\([^()]*\)", "", size.name) if size else flask.size


def _load(problem: Problem, load: KilnLoad) -> Entry:
    kiln, local = problem.kiln.get(load.kiln), problem.clock.local
    flasks = ", ".join(load.flasks)
    loaded, ends = _until(problem, load.load_at, load.start), moment(local(load.program_end))
    name = kiln.name if kiln else load.kiln
    rest = say("{kiln}: {flasks}; load {loaded}, ends {ends}", kiln=name, flasks=flasks, loaded=loaded, ends=ends)
    return Entry(clock(local(load.start)), load.id, rest)


def _until(problem: Problem, at: Minute, start: Minute) -> str:
    """A time, with its day where that is another than the start's."""
    one, other = problem.clock.local(at), problem.clock.local(start)
    return clock(one) if one.date() == other.date() else moment(one)


def _cast(problem: Problem, flask: PlannedFlask) -> Entry:
    machine = problem.machine.get(flask.machine)
    name, people = machine.name if machine else flask.machine, people_names(problem, flask)
    under = listed([name, listed(people, say(" and "))]) if people else name
    rest = listed([alloy_name(problem, flask), _size(problem, flask)])
    return Entry(clock(problem.clock.local(flask.cast_start)), flask.id, rest, under)


def _due_jobs(problem: Problem, plan: Plan, on: date, *, first: bool) -> Iterable[PlanJob]:
    """Due on the day; on a week's first day also what was due before and is not done by then."""
    for job in sorted(problem.jobs, key=lambda j: (j.due, j.id)):
        due = date.fromisoformat(job.due)
        done = last_day(problem, job, plan)
        if due == on or (first and due < on and (done is None or done >= on)):
            yield job


def _due(problem: Problem, plan: Plan, job: PlanJob, on: date) -> Entry:
    due, done = date.fromisoformat(job.due), last_day(problem, job, plan)
    was = "" if due == on else say(", was due {day}", day=day(due))
    name = job.name.removeprefix(f"{job.id} ")
    if done is None:
        return Entry("", job.id, say("{name}: NOT PLANNED{was}", name=name, was=was))
    if done > due:
        return Entry("", job.id, say("{name}: LATE, done {day}{was}", name=name, day=day(done), was=was))
    return Entry("", job.id, say("{name}: done {day}{was}", name=name, day=day(done), was=was))


def _step(days: tuple[WallDay, ...]) -> int:
    return next((step for step in STEPS if _height(days, step) <= HEIGHT_MM), STEPS[-1])


def _height(days: tuple[WallDay, ...], step: int) -> float:
    """About how high the highest column is, in millimetres."""
    if not days:
        return 0
    letters = int((WIDTH_MM / len(days) - 3) / (step * LETTER * MM_PER_POINT))
    highest = max(one.lines(letters) * step * LINE * MM_PER_POINT + len(one.parts) * 1.5 for one in days)
    return highest + step * LINE * MM_PER_POINT
