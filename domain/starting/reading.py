"""Reads the tables of starting values: text with a unit becomes a value that knows its unit."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from importlib.resources import files
from typing import Any, TypeAlias, TypeVar

from domain.sources import Mark, Source
from domain.units import Quantity, Temperature

Row: TypeAlias = Mapping[str, Any]
Q = TypeVar("Q", bound=Quantity)


def table(file: str) -> Row:
    """A TOML file of this package."""
    return tomllib.loads(files("domain.starting").joinpath(file).read_text(encoding="utf-8"))


def quantity(kind: type[Q], text: str) -> Q:
    """``"50.8 mm"`` as a length, ``"0.95 g/cm³"`` as a density, and so on."""
    number, unit = text.split(" ", 1)
    return kind.of(number, unit)


def temperature(text: str) -> Temperature:
    """``"732 °C"``."""
    return Temperature.c(text.removesuffix(" °C"))


def sources(row: Row) -> dict[str, Source]:
    """The ``sources`` of a row: field name to [mark] or [mark, note]."""
    given: Mapping[str, Sequence[str]] = row["sources"]
    return {field: Source(Mark(entry[0]), *entry[1:]) for field, entry in given.items()}
