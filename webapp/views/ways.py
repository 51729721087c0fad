"""The choice of units: its fields, and what they make of a few things."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from domain.saying import say
from domain.units import Length, Mass, Temperature, Volume
from webapp import formats
from webapp.ways import KINDS, Ways, within

LABELS = {
    "metal": say("Metal, patterns and trees"),
    "investment": say("Powder and water"),
    "lengths": say("Lengths"),
    "volumes": say("Volumes"),
    "degrees": say("Temperatures"),
    "numbers": say("Numbers"),
    "days": say("Days"),
    "hours": say("Times of day"),
    "language": say("Language of screens and prints"),
}
WORDS: dict[str, tuple[str, ...]] = {
    "metal": (say("grams (g)"), say("pennyweights (dwt)"), say("troy ounces (ozt)")),
    "investment": (say("grams and kilograms (g, kg)"), say("pounds (lb)")),
    "lengths": (say("millimetres (mm)"), say("inches (in)")),
    "volumes": (say("cubic centimetres, millilitres (cm³, ml)"), say("cubic inches (in³)")),
    "degrees": (say("Celsius (°C)"), say("Fahrenheit (°F)")),
}
"""In the order of each kind; numbers, days and times of day are their own words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WaysField:
    """``options``: what is sent, and what people read."""

    name: str
    label: str
    options: tuple[tuple[str, str], ...]
    chosen: str


def ways_fields(ways: Ways) -> tuple[WaysField, ...]:
    """The language first: the rest is read in it."""
    return tuple(
        WaysField(
            name=name,
            label=LABELS[name],
            options=tuple(zip((one.value for one in KINDS[name]), WORDS.get(name, tuple(KINDS[name])), strict=True)),
            chosen=str(getattr(ways, name)),
        )
        for name in sorted(KINDS, key=lambda name: name != "language")
    )


def example(ways: Ways) -> tuple[tuple[str, str], ...]:
    """A flask as whoever chose these reads it."""
    with within(ways):
        return (
            (say("Charge"), formats.mass(Mass.g("1234.56"))),
            (say("Powder"), formats.bulk(Mass.g(2350))),
            (say("Flask"), f"{formats.length(Length.mm('63.5'))} × {formats.length(Length.mm('101.6'))}"),
            (say("Tree"), formats.volume(Volume.cm3("38.2"))),
            (say("Flask temperature"), formats.temperature(Temperature.c(510))),
            (say("Poured"), formats.moment(datetime(2026, 11, 26, 14, 5))),
        )
