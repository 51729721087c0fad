"""Papers for a whole day: labels of its flasks, what to fetch from the shelf, what to mix."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, datetime

from markupsafe import Markup

from domain.planning.plan import Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.units import Mass, total
from webapp.views.flask import ChargeSheet, charge_sheet
from webapp.views.prints import FlaskFacts, flask_facts


@dataclass(frozen=True, slots=True, kw_only=True)
class PullLine:
    """One lot to fetch. ``flasks``: how much of it each takes."""

    name: str
    where: str
    mass: Mass
    flasks: tuple[tuple[str, Mass], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CastCharge:
    facts: FlaskFacts
    charge: ChargeSheet | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DayPapers:
    """``mixes``: flasks invested on the day; ``powder``: by kind, together. ``casts``: flasks cast on it, with their charges."""

    mixes: tuple[FlaskFacts, ...]
    powder: tuple[tuple[str, Mass, Mass], ...]
    pulls: tuple[PullLine, ...]
    casts: tuple[CastCharge, ...]


def flasks_of_day(problem: Problem, plan: Plan, day: date) -> tuple[PlannedFlask, ...]:
    """Invested or cast on the day, in the order of their casting."""
    day_of = problem.clock.day_of
    return tuple(
        sorted((f for f in plan.flasks if day in (day_of(f.invest_start), day_of(f.cast_start))), key=lambda f: f.cast_start)
    )


def day_papers(problem: Problem, plan: Plan, day: date) -> DayPapers:
    invested = sorted((f for f in plan.flasks if problem.clock.day_of(f.invest_start) == day), key=lambda f: f.invest_start)
    cast = sorted((f for f in plan.flasks if problem.clock.day_of(f.cast_start) == day), key=lambda f: f.cast_start)
    mixes = tuple(flask_facts(problem, plan, f) for f in invested)
    casts = tuple(CastCharge(facts=flask_facts(problem, plan, f), charge=charge_sheet(problem, plan, f)) for f in cast)
    return DayPapers(mixes=mixes, powder=_powder(mixes), pulls=_pulls(casts), casts=casts)


def _powder(mixes: tuple[FlaskFacts, ...]) -> tuple[tuple[str, Mass, Mass], ...]:
    sums: dict[str, tuple[Mass, Mass]] = {}
    for facts in mixes:
        if facts.mix:
            powder, liquid = sums.get(facts.mix.kind.name, (Mass(0), Mass(0)))
            sums[facts.mix.kind.name] = (powder + facts.mix.mix.powder, liquid + facts.mix.mix.liquid)
    return tuple((name, powder, liquid) for name, (powder, liquid) in sums.items())


def _pulls(casts: tuple[CastCharge, ...]) -> tuple[PullLine, ...]:
    taken: dict[tuple[str, str], list[tuple[str, Mass]]] = defaultdict(list)
    for cast in casts:
        for line in cast.charge.parts if cast.charge else ():
            taken[line.name, line.where].append((cast.facts.flask.id, line.part.mass))
    return tuple(
        PullLine(name=name, where=where, mass=total(Mass, (m for _, m in flasks)), flasks=tuple(flasks))
        for (name, where), flasks in sorted(taken.items())
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """What stands on a flask's label; ``code``: a drawing of its QR code."""

    facts: FlaskFacts
    number: str
    code: Markup
    cast: datetime
