"""Amounts in a form: shown and read in the reader's units."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from domain.shop.consumables import Amount
from domain.units import Density, Length, Mass, Money, Share, Temperature, Volume
from webapp import reading
from webapp.exchange.fields import Measure
from webapp.formats import as_typed
from webapp.ways import Volumes, current


def unit_of(measure: Measure[Any]) -> str:
    """The unit beside the field; empty where the thing has its own."""
    ways = current()
    if measure.kind is Mass:
        return ways.investment if measure.bulk else ways.metal
    if measure.kind is Volume:
        return measure.unit if ways.volumes is Volumes.CM3 else ways.volumes
    if measure.kind in (Length, Temperature):
        return ways.lengths if measure.kind is Length else ways.degrees
    return "" if measure.unit == "unit" else measure.unit


def quantity_text(measure: Measure[Any], value: Any) -> str:
    """A number in the field's unit with the unit behind it, such as ``63.5 mm``; it reads back to the very value."""
    unit = unit_of(measure)
    return f"{as_typed(value, unit or 'unit')} {unit}".rstrip()


def read_quantity(measure: Measure[Any], text: str) -> Any:
    """Raises ``InvalidValue`` for what cannot be read."""
    read: dict[type[Any], Callable[[], Any]] = {
        Mass: lambda: reading.bulk(text) if measure.bulk else reading.mass(text),
        Length: lambda: reading.length(text),
        Volume: lambda: reading.volume(text, unit=measure.unit),
        Temperature: lambda: reading.temperature(text),
        Density: lambda: reading.density(text),
        Share: lambda: _share(measure, text),
        Amount: lambda: Amount.of(reading.number(text, measure.noun), "unit"),
        Money: lambda: Money.of(reading.number(text, measure.noun), "unit"),
    }
    return read[measure.kind]()


def _share(measure: Measure[Any], text: str) -> Any:
    return reading.share(text, unit=measure.unit)
