"""The table of checklist points: pauses, readings, and the rows as they are written."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from enum import StrEnum
from functools import cache
from importlib.resources import files
from typing import Any, TypeAlias

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


class Reading(StrEnum):
    """What a point asks to be written down."""

    NONE = "none"
    TEMPERATURE = "temperature"
    MASS = "mass"
    PRESSURE = "pressure"


UNITS = {Reading.NONE: None, Reading.TEMPERATURE: "°C", Reading.MASS: "g", Reading.PRESSURE: "kPa"}
"""The unit in which a reading is kept; pressure is gauge pressure."""


@cache
def rows(file: str) -> tuple[Row, ...]:
    """The rows of a table of this package, in the order in which they are written."""
    text = files("domain.safety").joinpath(file).read_text(encoding="utf-8")
    return tuple(tomllib.loads(text)["row"])


def source_of(row: Row) -> Source:
    mark, *note = row["source"]
    return Source(Mark(mark), *note)
