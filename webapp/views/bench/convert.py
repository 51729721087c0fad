"""One amount in every unit that the trade uses."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from functools import partial

from domain.intake.fineness import EXAMPLE, read_fineness
from domain.intake.typed import in_base_units, read_temperature
from domain.units import Length, Mass, Pressure, Quantity, Share, Temperature, Volume
from webapp.formats import SPACE, temperature
from webapp.formats import number as written
from webapp.views.bench.sheet import Answer, Bench, Sheet, Slip, Table
from webapp.ways import current

UNITS: dict[type[Quantity], tuple[tuple[str, str], ...]] = {
    Mass: (
        ("g", "grams"),
        ("kg", "kilograms"),
        ("dwt", "pennyweights"),
        ("ozt", "troy ounces"),
        ("gr", "grains"),
        ("ct", "carats of stones"),
        ("oz", "avoirdupois ounces"),
        ("lb", "pounds"),
    ),
    Length: (("mm", "millimetres"), ("cm", "centimetres"), ("in", "inches"), ("ft", "feet")),
    Volume: (("mm³", "cubic millimetres"), ("ml", "millilitres or cm³"), ("l", "litres"), ("in³", "cubic inches")),
    Pressure: (("kPa", "kilopascals"), ("bar", "bars"), ("psi", "pounds a square inch")),
    Share: (("‰", "parts per thousand"), ("%", "percent")),
}
DIGITS = 6
"""Significant digits, as many as a base unit can hold of an everyday amount."""


def convert(_bench: Bench, typed: Mapping[str, str]) -> Slip:
    sheet = Sheet(typed)
    mass = sheet.value("mass", "Mass", "1.2 dwt, 3/4 ozt or 12.4 g", partial(_amount, Mass), needed=False)
    length = sheet.value("length", "Length", "3/8 in or 9.5 mm", partial(_amount, Length), needed=False)
    heat = sheet.value("temperature", "Temperature", "950 F or 510 °C", _heat, needed=False)
    share = sheet.value("fineness", "Fineness", EXAMPLE, read_fineness, needed=False)
    volume = sheet.value("volume", "Volume", "480 mm³ or 1.2 l", partial(_amount, Volume), needed=False)
    pressure = sheet.value("pressure", "Pressure", "15 psi or 1 bar", partial(_amount, Pressure), needed=False)
    amounts = ((Mass, mass), (Length, length), (Volume, volume), (Pressure, pressure))
    tables = [_table(kind, amount) for kind, amount in amounts if amount is not None]
    tables += [] if heat is None else [_temperature(heat)]
    tables += [] if share is None else [_fineness(share)]
    if not tables:
        sheet.missing.append("any amount, with its unit")
        return sheet.slip(None)
    return sheet.slip(Answer(tables=tuple(tables)))


def _amount(kind: type[Quantity], text: str) -> Fraction:
    return in_base_units(kind, text, choices=current().choices)


def _heat(text: str) -> Temperature:
    return read_temperature(text, None, choices=current().choices)


def _table(kind: type[Quantity], amount: Fraction) -> Table:
    """``amount``: in base units, exactly."""
    rows = tuple((name, significant(amount / kind.UNITS[unit]) + SPACE + unit) for unit, name in UNITS[kind])
    return Table(caption=kind.__name__, heads=("Unit", "Amount"), rows=rows)


def _temperature(heat: Temperature) -> Table:
    rows = (("Celsius", temperature(heat, "°C", 1)), ("Fahrenheit", temperature(heat, "°F", 1)))
    return Table(caption="Temperature", heads=("Scale", "Reading"), rows=rows)


def _fineness(share: Share) -> Table:
    parts = tuple((name, significant(share.to(unit)) + SPACE + unit) for unit, name in UNITS[Share])
    return Table(
        caption="Fineness", heads=("Unit", "Amount"), rows=(*parts, ("karats", f"{float(share.to('1') * 24):.2f}{SPACE}k"))
    )


def significant(number: Fraction) -> str:
    """Six significant digits without an exponent and without idle zeros."""
    if number == 0:
        return "0"
    places = max(0, DIGITS - len(str(int(abs(number)))) if abs(number) >= 1 else DIGITS)
    text = f"{float(number):.{places}f}"
    return written(Decimal(text.rstrip("0").rstrip(".") if "." in text else text))
