"""What a burnout program does over time, and what keeps it from suiting a flask."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from domain.saying import listed, say
from domain.shop.alloy import Bond
from domain.shop.burnout import BurnoutProgram, Kiln, Purpose
from domain.shop.flask import FlaskSize
from domain.shop.investment import BONDS, InvestmentKind
from domain.shop.pattern import PatternMaterial
from domain.units import Temperature

ROOM = Temperature.c(20)
"""Where a cold kiln starts; common practice, no source."""


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """``minute`` after kiln start; straight lines join the points."""

    minute: int
    temperature: Temperature


@dataclass(frozen=True, slots=True)
class CastAt:
    """A flask is cast ``minute`` minutes after kiln start, at ``temperature``."""

    minute: int
    temperature: Temperature


def program_curve(program: BurnoutProgram, start: Temperature = ROOM) -> tuple[CurvePoint, ...]:
    """What the kiln is set to from its start to the end of the last segment."""
    points, minute = [CurvePoint(0, start)], 0
    for segment in program.segments:
        minute += segment.ramp_minutes
        points.append(CurvePoint(minute, segment.target))
        if segment.hold_minutes:
            minute += segment.hold_minutes
            points.append(CurvePoint(minute, segment.target))
    return tuple(points)


def load_curve(
    program: BurnoutProgram, casts: Sequence[CastAt], soak_minutes: int, step_soak_minutes: int
) -> tuple[CurvePoint, ...]:
    """What the kiln is set to until its last flask is cast: the program, then each flask temperature in
    falling order, reached by the soak (the step soak from the second on) before its first cast.

    The last cooling of the program stops where the first flask's temperature is higher than its
    target, so that the kiln only falls. The flasks lag behind what the kiln is set to.
    """
    ordered = sorted(casts, key=lambda c: (c.minute, -c.temperature.millidegrees))
    if not ordered:
        return program_curve(program)
    points = list(_cooled_to(program, ordered[0].temperature))
    soak = soak_minutes
    for temperature, group in groupby(ordered, key=lambda c: c.temperature):
        minutes = [c.minute for c in group]
        reached = max(points[-1].minute, minutes[0] - soak)
        points += [CurvePoint(reached, temperature), CurvePoint(max(reached, minutes[-1]), temperature)]
        soak = step_soak_minutes
    return _corners(points)


def _cooled_to(program: BurnoutProgram, first: Temperature) -> tuple[CurvePoint, ...]:
    points = program_curve(program)
    if not program.segments or program.segments[-1].purpose is not Purpose.COOL:
        return points
    last = program.segments[-1]
    tail = 2 if last.hold_minutes else 1
    held = tuple(CurvePoint(p.minute, max(p.temperature, first)) for p in points[-tail:])
    return points[:-tail] + held


def _corners(points: Sequence[CurvePoint]) -> tuple[CurvePoint, ...]:
    """Leaves out points in the middle of a level stretch."""
    kept: list[CurvePoint] = []
    for point in points:
        if kept and point == kept[-1]:
            continue
        if len(kept) > 1 and kept[-2].temperature == kept[-1].temperature == point.temperature:
            kept.pop()
        kept.append(point)
    return tuple(kept)


def reasons_against(
    program: BurnoutProgram,
    *,
    size: FlaskSize,
    materials: Sequence[PatternMaterial],
    investment: InvestmentKind,
    kiln: Kiln,
) -> tuple[str, ...]:
    """Why the program does not suit a flask with these patterns in this kiln, in words; empty where it does."""
    return (
        *_not_for_flask(program, size, materials),
        *_not_for_investment(program, investment),
        *_not_for_kiln(program, kiln),
    )


def _not_for_flask(program: BurnoutProgram, size: FlaskSize, materials: Sequence[PatternMaterial]) -> Iterator[str]:
    runs = _hours(program.minutes)
    if program.minutes < size.burnout_minutes:
        yield say(
            "{program} runs {runs}; a {size} flask needs {needed}",
            program=program.name,
            runs=runs,
            size=size.name,
            needed=_hours(size.burnout_minutes),
        )
    for material in materials:
        if program.minutes < material.burnout_minutes:
            yield say(
                "{program} runs {runs}; {material} needs {needed}",
                program=program.name,
                runs=runs,
                material=material.name,
                needed=_hours(material.burnout_minutes),
            )
        if program.peak < material.burnout_peak:
            yield say(
                "{program} goes to {peak}; {material} burns out at {needed}",
                program=program.name,
                peak=_degrees(program.peak),
                material=material.name,
                needed=_degrees(material.burnout_peak),
            )


def _not_for_investment(program: BurnoutProgram, investment: InvestmentKind) -> Iterator[str]:
    if investment.bond not in program.bonds:
        bonds = listed((BONDS[bond] for bond in Bond if bond in program.bonds), say(" and "))
        yield say(
            "{program} is written for {bonds}-bonded investment; the flask is in {investment}",
            program=program.name,
            bonds=bonds,
            investment=investment.name,
        )
    if program.peak > investment.peak:
        yield say(
            "{program} goes to {peak}; {investment} breaks down above {limit}",
            program=program.name,
            peak=_degrees(program.peak),
            investment=investment.name,
            limit=_degrees(investment.peak),
        )


def _not_for_kiln(program: BurnoutProgram, kiln: Kiln) -> Iterator[str]:
    if program.peak > kiln.top_temperature:
        yield say(
            "{program} goes to {peak}; {kiln} goes to {limit}",
            program=program.name,
            peak=_degrees(program.peak),
            kiln=kiln.name,
            limit=_degrees(kiln.top_temperature),
        )
    at = ROOM
    for segment in program.segments:
        rise = segment.target.above(at)
        if rise > 0 and rise * 60 > kiln.fastest_ramp * segment.ramp_minutes:
            yield say(
                "{program} asks for {low} to {high} in {minutes} min; {kiln} heats {ramp} °C an hour at most",
                program=program.name,
                low=_degrees(at),
                high=_degrees(segment.target),
                minutes=segment.ramp_minutes,
                kiln=kiln.name,
                ramp=kiln.fastest_ramp,
            )
        at = segment.target


def _hours(minutes: int) -> str:
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest} min" if rest else f"{hours} h"


def _degrees(temperature: Temperature) -> str:
    return f"{temperature.celsius()} °C"
