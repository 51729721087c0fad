"""Defects of castings, their usual causes and the usual correction: data with a source mark."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from domain.errors import InvalidValue
from domain.saying import say
from domain.sources import Mark, Source

PASSED = ""
"""the outcome of pieces without a defect"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Defect:
    id: str
    name: str
    causes: tuple[str, ...]
    correction: str
    source: Source


@cache
def defects() -> tuple[Defect, ...]:
    rows = tomllib.loads(files("domain.floor").joinpath("defects.toml").read_text(encoding="utf-8"))["defect"]
    return tuple(
        Defect(
            id=row["id"],
            name=say(row["name"]),
            causes=tuple(map(say, row["causes"])),
            correction=say(row["correction"]),
            source=Source(Mark(row["mark"]), say(row.get("note", ""))),
        )
        for row in rows
    )


def defect(name: str) -> Defect:
    """Raises ``InvalidValue`` for an id that is none."""
    found = next((one for one in defects() if one.id == name), None)
    if found is None:
        raise InvalidValue("defect", say("choose the defect from the list"))
    return found
