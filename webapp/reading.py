"""What people type, read in their own ways: in any unit, and without one in that which stands beside the field.

Each reader raises ``InvalidValue`` with what to type instead.
"""

from __future__ import annotations

from fractions import Fraction

from domain.intake import typed
from domain.intake.typed import Usual
from domain.safety.checklist import Point
from domain.safety.points import Reading
from domain.units import Density, Length, Mass, Money, Share, Temperature, Volume
from webapp.ways import current

POWDER_POINT = "invest-powder"
"""The checklist point at which powder is weighed, not metal."""


def weighed_in(point: Point) -> str:
    """The unit of mass of a checklist point's reading."""
    return current().investment if point.id == POWDER_POINT else current().metal


def unit_read(point: Point) -> str:
    """The unit that stands beside a checklist point's reading; empty where it asks for none."""
    if point.reading is Reading.TEMPERATURE:
        return current().degrees
    return weighed_in(point) if point.reading is Reading.MASS else point.unit or ""


def usual_at(point: Point) -> Usual:
    """Of a checklist point's reading."""
    return Usual(mass=weighed_in(point), degrees=current().degrees, numbers=current().choices)


def usual_on_the_floor() -> Usual:
    """Of what a stage asks: powder and water are what is weighed there."""
    return Usual(mass=current().investment, degrees=current().degrees, numbers=current().choices)


def mass(text: str, field: str = "mass") -> Mass:
    """Metal, patterns and trees, zero or more."""
    return typed.read_mass(text, current().metal, field, current().choices)


def bulk(text: str, field: str = "mass") -> Mass:
    """Powder and what it is mixed with, zero or more."""
    return typed.read_mass(text, current().investment, field, current().choices)


def length(text: str, field: str = "length") -> Length:
    return typed.read_length(text, current().lengths, field, current().choices)


def volume(text: str, field: str = "volume", unit: str = "cm³") -> Volume:
    """``unit``: the metric one that is usual here."""
    ways = current()
    return typed.read_volume(text, unit if ways.volumes == "cm³" else ways.volumes, field, ways.choices)


def temperature(text: str, field: str = "temperature") -> Temperature:
    return typed.read_temperature(text, current().degrees, field, current().choices)


def density(text: str, field: str = "density") -> Density:
    return typed.read_density(text, "g/cm³", field, current().choices)


def share(text: str, field: str = "share", unit: str = "%") -> Share:
    return typed.read_share(text, unit, field, current().choices)


def number(text: str, field: str = "number") -> Fraction:
    return typed.read_number(text, field, current().choices)


def count(text: str, field: str = "quantity") -> int:
    """One or more."""
    return typed.read_count(text, field, choices=current().choices)


def money(text: str, currency: str, field: str = "price") -> Money:
    return typed.read_money(text, currency, field, current().choices)
