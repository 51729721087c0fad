"""Checklists at the pause points: short, read then do, and different from flask to flask."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Any, TypeAlias

from domain.casting import MachineKind
from domain.metallurgy.alloy import CoolingRule, Heat
from domain.safety.context import FlaskContext, applies, filled_in
from domain.sources import Mark, Source
from domain.units import Mass, Temperature, TemperatureRange

MOST_POINTS = 9
"""A pause with more points is ticked without reading; common practice, no source."""

STANDING_CAUTION = (
    "Follow local codes, the suppliers' data sheets and licensed practice: they come before this sheet. "
    "This list does not replace training."
)
"""The closing note of every sheet."""


class Pause(StrEnum):
    """Where work stops for a checklist, in the order of the work."""

    INVEST = "before investing"
    KILN = "before kiln start"
    MELT = "before melting"
    POUR = "before the pour"
    QUENCH = "before quench and devest"


class Reading(StrEnum):
    """What a point asks to be written down."""

    NONE = "none"
    TEMPERATURE = "temperature"
    MASS = "mass"
    PRESSURE = "pressure"


UNITS = {Reading.NONE: None, Reading.TEMPERATURE: "°C", Reading.MASS: "g", Reading.PRESSURE: "kPa"}
"""The unit in which a reading is kept; pressure is gauge pressure."""

Expected: TypeAlias = Temperature | TemperatureRange | Mass | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One point: ``text`` says what to do, ``why`` what for, ``source`` the paragraph or practice behind
    it. ``required``: the slot does not start without it. ``expected``: what the reading should be,
    where the flask knows; ``not_above`` and ``not_below`` bound a reading on one side."""

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


def checklist(pause: Pause, context: FlaskContext) -> tuple[Point, ...]:
    """The points of a pause for one flask, in the order to do them; at most ``MOST_POINTS``."""
    return tuple(_point(row, context) for row in _rows("checklist.toml") if row["pause"] == pause and applies(row, context))


def pause_title(pause: Pause, context: FlaskContext) -> str:
    """What the pause is called for this flask's machine."""
    if pause is Pause.MELT:
        return "before lighting the torch" if context.heat is Heat.TORCH else "before switching the heat on"
    if pause is Pause.POUR:
        return "before release of the arm" if context.machine is MachineKind.CENTRIFUGE else "before the vacuum pour"
    return pause.value


@dataclass(frozen=True, slots=True, kw_only=True)
class Caution:
    """A warning for the flask's page and ticket."""

    id: str
    text: str
    source: Source


def cautions_for(context: FlaskContext) -> tuple[Caution, ...]:
    """The warnings that a flask calls for, the gravest first."""
    rows = [row for row in _rows("cautions.toml") if applies(row, context)]
    return tuple(Caution(id=row["id"], text=filled_in(row["text"], context), source=_source(row)) for row in rows)


@cache
def _rows(file: str) -> tuple[Mapping[str, Any], ...]:
    text = files("domain.safety").joinpath(file).read_text(encoding="utf-8")
    return tuple(tomllib.loads(text)["row"])


def _source(row: Mapping[str, Any]) -> Source:
    mark, *note = row["source"]
    return Source(Mark(mark), *note)


def _point(row: Mapping[str, Any], context: FlaskContext) -> Point:
    reading = Reading(row.get("reading", "none"))
    window = context.cooling if row.get("expected") == "quench window" else None
    return Point(
        id=row["id"],
        text=filled_in(row["text"], context),
        why=row["why"],
        source=_source(row),
        required=row.get("required", True),
        reading=reading,
        unit=UNITS[reading],
        expected=_expected(row.get("expected"), context),
        not_above=_bound(window, upper=True),
        not_below=_bound(window, upper=False),
    )


def _expected(name: str | None, context: FlaskContext) -> Expected:
    known: dict[str, Expected] = {
        "flask temperature": context.flask_temperature,
        "pour": context.pour,
        "charge": context.charge,
        "powder": context.powder,
    }
    return known.get(name or "")


def _bound(window: CoolingRule | None, *, upper: bool) -> Temperature | None:
    if window is None:
        return None
    return window.not_above if upper else window.not_below
