"""Checklists at the pause points: short, read then do, and different from flask to flask."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

from domain.safety.context import FlaskContext, applies, filled_in
from domain.safety.own_points import PointChange, standing_rows
from domain.safety.points import MOST_POINTS, UNITS, Pause, Reading, Row, rows, source_of
from domain.saying import Saying, say
from domain.shop.alloy import Heat
from domain.shop.casting import MachineKind
from domain.sources import Source
from domain.units import Mass, Temperature, TemperatureRange

__all__ = [
    "MOST_POINTS",
    "STANDING_CAUTION",
    "Caution",
    "Expected",
    "Pause",
    "Point",
    "Reading",
    "cautions_for",
    "checklist",
    "checklist_together",
    "pause_title",
]

STANDING_CAUTION = say(
    "Follow local codes, the suppliers' data sheets and licensed practice: they come before this sheet. "
    "This list does not replace training."
)
"""The closing note of every sheet."""


Expected: TypeAlias = Temperature | TemperatureRange | Mass | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One point: ``text`` says what to do, ``why`` what for, ``source`` the paragraph or practice behind
    it. ``required``: the slot does not start without it. ``expected``: what the reading should be,
    where the flask knows; ``not_above`` and ``not_below`` bound a reading on one side. ``second``: another
    person signs it besides."""

    id: str
    text: str
    why: str
    source: Source
    required: bool
    reading: Reading
    unit: str | None
    expected: Expected = None
    not_above: Temperature | None = None
    not_below: Temperature | None = None
    second: bool = False


def checklist(pause: Pause, context: FlaskContext, changes: Iterable[PointChange] = ()) -> tuple[Point, ...]:
    """The points of a pause for one flask, in the order to do them; at most ``MOST_POINTS``.
    ``changes``: what the shop has made of the starting list."""
    return checklist_together(pause, (context,), changes)


def checklist_together(pause: Pause, contexts: Sequence[FlaskContext], changes: Iterable[PointChange] = ()) -> tuple[Point, ...]:
    """The points of a pause that several flasks share, such as a kiln load: what any of them calls for."""
    together = replace(
        contexts[0],
        alloy=", ".join(dict.fromkeys(c.alloy for c in contexts)),
        size=", ".join(dict.fromkeys(c.size for c in contexts)),
    )
    return tuple(_point(row, together) for row in standing_rows(pause, changes) if any(applies(row, c) for c in contexts))


def pause_title(pause: Pause, context: FlaskContext) -> Saying:
    """What the pause is called for this flask's machine."""
    if pause is Pause.MELT:
        return say("before lighting the torch") if context.heat is Heat.TORCH else say("before switching the heat on")
    if pause is Pause.POUR:
        return say("before release of the arm") if context.machine is MachineKind.CENTRIFUGE else say("before the vacuum pour")
    return pause.words


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """A warning for the flask's page and ticket."""

    id: str
    text: str
    source: Source


def cautions_for(context: FlaskContext) -> tuple[Caution, ...]:
    """The warnings that a flask calls for, the gravest first."""
    called_for = [row for row in rows("cautions.toml") if applies(row, context)]
    return tuple(Caution(id=row["id"], text=filled_in(row["text"], context), source=source_of(row)) for row in called_for)


def _point(row: Row, context: FlaskContext) -> Point:
    reading = Reading(row.get("reading", "none"))
    low, high = _bounds(row.get("expected"), context)
    return Point(
        id=row["id"],
        text=filled_in(row["text"], context),
        why=row["why"],
        source=source_of(row),
        required=row.get("required", True),
        reading=reading,
        unit=UNITS[reading],
        expected=_expected(row.get("expected"), context),
        not_above=high,
        not_below=low,
        second=row.get("second", False),
    )


def _expected(name: str | None, context: FlaskContext) -> Expected:
    known: dict[str, Expected] = {
        "flask temperature": context.flask_temperature,
        "pour": context.pour,
        "charge": context.charge,
        "powder": context.powder,
    }
    return known.get(name or "")


def _bounds(name: str | None, context: FlaskContext) -> tuple[Temperature | None, Temperature | None]:
    """The lowest and the highest that may be read: of the alloy's quench window, or what all pieces bear."""
    if name == "quench window":
        return context.cooling.not_below, context.cooling.not_above
    if name == "flask temperature" and context.flask_range is not None:
        return context.flask_range.low, context.flask_range.high
    return None, None
