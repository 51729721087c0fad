"""The table of checklist points: pauses, readings, and the rows as they are written."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Any, TypeAlias

from domain.saying import Saying, say
from domain.sources import Mark, Source

Row: TypeAlias = Mapping[str, Any]

MOST_POINTS = 9
"""A pause with more points is ticked without reading; common practice, no source."""


class Pause(StrEnum):
    """Where work stops for a checklist, in the order of the work."""

    INVEST = "before investing"
    KILN = "before kiln start"
    MELT = "before melting"
    POUR = "before the pour"
    QUENCH = "before quench and devest"

    @property
    def words(self) -> Saying:
        return _PAUSES[self]


class Reading(StrEnum):
    """What a point asks to be written down."""

    NONE = "none"
    TEMPERATURE = "temperature"
    MASS = "mass"
    PRESSURE = "pressure"

    @property
    def words(self) -> Saying:
        return _READINGS[self]


_PAUSES = {
    Pause.INVEST: say("before investing"),
    Pause.KILN: say("before kiln start"),
    Pause.MELT: say("before melting"),
    Pause.POUR: say("before the pour"),
    Pause.QUENCH: say("before quench and devest"),
}
_READINGS = {
    Reading.NONE: say("none"),
    Reading.TEMPERATURE: say("temperature"),
    Reading.MASS: say("mass"),
    Reading.PRESSURE: say("pressure"),
}

UNITS = {Reading.NONE: None, Reading.TEMPERATURE: "°C", Reading.MASS: "g", Reading.PRESSURE: "kPa"}
"""The unit in which a reading is kept; pressure is gauge pressure."""


@cache
def rows(file: str) -> tuple[Row, ...]:
    """The rows of a table of this package, in the order in which they are written; what people read are sayings."""
    text = files("domain.safety").joinpath(file).read_text(encoding="utf-8")
    return tuple(_said(row) for row in tomllib.loads(text)["row"])


def _said(row: Row) -> Row:
    mark, *note = row["source"]
    return {**row, **{name: say(row[name]) for name in ("text", "why") if name in row}, "source": (mark, *map(say, note))}


def source_of(row: Row) -> Source:
    mark, *note = row["source"]
    return Source(Mark(mark), *note)
