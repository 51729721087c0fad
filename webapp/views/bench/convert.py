"""One amount in every unit that the trade uses."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction
from functools import partial

from domain.intake.fineness import EXAMPLE, read_fineness
from domain.intake.typed import in_base_units, read_temperature
from domain.saying import say
from domain.units import Length, Mass, Pressure, Quantity, Share, Temperature, Volume
from webapp.formats import SPACE, temperature
from webapp.formats import number as written
from webapp.views.bench.sheet import Answer, Bench, Sheet, Slip, Table
from webapp.ways import current

UNITS: dict[type[Quantity], tuple[tuple[str, str], ...]] = {
    Mass: (
        ("g", say("grams")),
        ("kg", say("kilograms")),
        ("dwt", say("pennyweights")),
        ("ozt", say("troy ounces")),
        ("gr", say("grains")),
        ("ct", say("carats of stones")),
        ("oz", say("avoirdupois ounces")),
        ("lb", say("pounds")),
    ),
    Length: (("mm", say("millimetres")), ("cm", say("centimetres")), ("in", say("inches")), ("ft", say("feet"))),
    Volume: (
        ("mm³", say("cubic millimetres")),
        ("ml", say("millilitres or cm³")),
        ("l", say("litres")),
        ("in³", say("cubic inches")),
    ),
    Pressure: (("kPa", say("kilopascals")), ("bar", say("bars")), ("psi", say("pounds a square inch"))),
    Share: (("‰", say("parts per thousand")), ("%", say("percent"))),
}
CAPTIONS: dict[type[Quantity], str] = {
    Mass: say("Mass"),
    Length: say("Length"),
    Volume: say("Volume"),
    Pressure: say("Pressure"),
}
DIGITS = 6
"""Significant digits, as many as a base unit can hold of an everyday amount."""


def convert(_bench: Bench, typed: Mapping[str, str]) -> Slip:
    sheet = Sheet(typed)
    mass = sheet.value("mass", say("Mass"), say("1.2 dwt, 3/4 ozt or 12.4 g"), partial(_amount, Mass), needed=False)
    length = sheet.value("length", say("Length"), say("3/8 in or 9.5 mm"), partial(_amount, Length), needed=False)
    heat = sheet.value("temperature", say("Temperature"), say("950 F or 510 °C"), _heat, needed=False)
    share = sheet.value("fineness", say("Fineness"), EXAMPLE, read_fineness, needed=False)
    volume = sheet.value("volume", say("Volume"), say("480 mm³ or 1.2 l"), partial(_amount, Volume), needed=False)
    pressure = sheet.value("pressure", say("Pressure"), say("15 psi or 1 bar"), partial(_amount, Pressure), needed=False)
    amounts = ((Mass, mass), (Length, length), (Volume, volume), (Pressure, pressure))
    tables = [_table(kind, amount) for kind, amount in amounts if amount is not None]
    tables += [] if heat is None else [_temperature(heat)]
    tables += [] if share is None else [_fineness(share)]
    if not tables:
        sheet.missing.append(say("any amount, with its unit"))
        return sheet.slip(None)
    return sheet.slip(Answer(tables=tuple(tables)))


def _amount(kind: type[Quantity], text: str) -> Fraction:
    return in_base_units(kind, text, choices=current().choices)


def _heat(text: str) -> Temperature:
    return read_temperature(text, None, choices=current().choices)


def _table(kind: type[Quantity], amount: Fraction) -> Table:
    """``amount``: in base units, exactly."""
    rows = tuple((name, significant(amount / kind.UNITS[unit]) + SPACE + unit) for unit, name in UNITS[kind])
    return Table(caption=CAPTIONS[kind], heads=(say("Unit"), say("Amount")), rows=rows)


def _temperature(heat: Temperature) -> Table:
    rows = ((say("Celsius"), temperature(heat, "°C", 1)), (say("Fahrenheit"), temperature(heat, "°F", 1)))
    return Table(caption=say("Temperature"), heads=(say("Scale"), say("Reading")), rows=rows)


def _fineness(share: Share) -> Table:
    parts = tuple((name, significant(share.to(unit)) + SPACE + unit) for unit, name in UNITS[Share])
    return Table(
        caption=say("Fineness"),
        heads=(say("Unit"), say("Amount")),
        rows=(*parts, (say("karats"), written(Decimal(f"{float(share.to('1') * 24):.2f}")) + SPACE + "k")),
    )


def significant(number: Fraction) -> str:
    """Six significant digits without an exponent and without idle zeros."""
    if number == 0:
        return "0"
    places = max(0, DIGITS - len(str(int(abs(number)))) if abs(number) >= 1 else DIGITS)
    text = f"{float(number):.{places}f}"
    return written(Decimal(text.rstrip("0").rstrip(".") if "." in text else text))
