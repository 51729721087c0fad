"""Readings that a checklist point asks for: what is typed, and whether the point allows it."""

from __future__ import annotations

from fractions import Fraction

from domain.errors import InvalidValue
from domain.intake.typed import METRIC, Usual, read_mass, read_pressure, read_temperature
from domain.safety.checklist import Point
from domain.safety.points import Reading
from domain.saying import say
from domain.units import Mass, Pressure, Temperature, TemperatureRange

FIELD = "reading"
NEAR = Fraction(1, 10)
"""A weighed mass further from what the flask needs is not what was meant; common practice, no source."""
HOTTEST = Temperature.c(2200)
"""No metal that is cast here melts above; a number above it was typed wrong."""
COLDEST = Temperature.c(-40)
VACUUM = Pressure.of("-101.325", "kPa")
"""Gauge pressure of no air at all under the standard atmosphere."""


def read_off(point: Point, typed: str, usual: Usual = METRIC) -> str:
    """The reading with its unit, as it is kept; empty where the point asks for none, or for one that may be
    left out. Raises ``InvalidValue`` for what is missing, no reading, or not allowed by the point."""
    if point.reading is Reading.NONE:
        return ""
    if not typed.strip():
        if point.required:
            raise InvalidValue(FIELD, say("write down what you read"))
        return ""
    if point.reading is Reading.TEMPERATURE:
        return _temperature(point, read_temperature(typed, usual.degrees, FIELD, usual.numbers))
    if point.reading is Reading.MASS:
        return _mass(point, read_mass(typed, usual.mass, FIELD, usual.numbers))
    return _pressure(typed, usual)


def bounds(point: Point) -> tuple[Temperature | None, Temperature | None]:
    """The lowest and the highest temperature that the point allows; none where there is no such bound."""
    expected = point.expected if isinstance(point.expected, TemperatureRange) else None
    return point.not_below or (expected.low if expected else None), point.not_above or (expected.high if expected else None)


def _temperature(point: Point, read: Temperature) -> str:
    if not COLDEST <= read <= HOTTEST:
        raise InvalidValue(FIELD, say("no thermometer of this shop shows that; read it again"))
    low, high = bounds(point)
    if low is not None and read < low:
        raise InvalidValue(FIELD, say("{read} is too cold: not below {low}. The point is not done", read=_c(read), low=_c(low)))
    if high is not None and read > high:
        raise InvalidValue(FIELD, say("{read} is too hot: not above {high}. The point is not done", read=_c(read), high=_c(high)))
    return _c(read)


def _c(value: Temperature) -> str:
    return f"{value.celsius(1).normalize():f} °C"


def _mass(point: Point, read: Mass) -> str:
    if not read.base:
        raise InvalidValue(FIELD, say("nothing weighs nothing; weigh it and write the mass down"))
    wanted = point.expected if isinstance(point.expected, Mass) else None
    if wanted is not None and wanted.base and abs(read.over(wanted) - 1) > NEAR:
        told = say(
            "{read} is far from the {wanted} of this flask; weigh again. The point is not done", read=_g(read), wanted=_g(wanted)
        )
        raise InvalidValue(FIELD, told)
    return _g(read)


def _g(value: Mass) -> str:
    return f"{value.decimal('g', 2)} g"


def _pressure(typed: str, usual: Usual) -> str:
    """Gauge pressure; a vacuum is below nothing."""
    clean = typed.strip().replace("−", "-")
    below = clean.startswith("-")
    read = read_pressure(clean.removeprefix("-"), "kPa", FIELD, usual.numbers)
    read = -read if below else read
    if read < VACUUM:
        raise InvalidValue(FIELD, say("no vacuum is deeper than 101.3 kPa below the air; read the gauge again"))
    return f"{read.decimal('kPa', 1).normalize():f} kPa"
