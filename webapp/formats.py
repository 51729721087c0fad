"""How values are written on screens and prints: one place for decimals, units and dates.

Every number carries its unit. What a shop prefers is in ``Units``; metric is the default.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from domain.shop.consumables import Amount
from domain.units import Area, Density, Length, Mass, Money, Share, Temperature, TemperatureRange, Volume

SPACE = "\N{NARROW NO-BREAK SPACE}"
EN_DASH = "\N{EN DASH}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Units:
    """The units that a reader chose."""

    mass: str = "g"
    length: str = "mm"
    temperature: str = "°C"


METRIC = Units()

PLACES = {"mg": 0, "g": 2, "kg": 3, "ct": 2, "gr": 1, "dwt": 3, "ozt": 4, "oz": 3, "lb": 4, "mm": 1, "cm": 2, "in": 3}


def _grouped(number: Decimal) -> str:
    return f"{number:,f}".replace(",", SPACE).replace("-", "\N{MINUS SIGN}")


def mass(value: Mass, unit: str = "g", places: int | None = None) -> str:
    return _grouped(value.decimal(unit, PLACES[unit] if places is None else places)) + SPACE + unit


def amount(value: Amount, unit: str) -> str:
    """In its own unit, with as many decimals as it has; what is counted in grams from a kilogram on in these."""
    if unit == "g":
        return mass(Mass(value.base), "kg" if abs(value.base) >= 1_000_000 else "g")
    number = value.decimal("unit", 3)
    whole = number.to_integral_value()
    return (
        _grouped(whole if number == whole else number.normalize()) + SPACE + ("piece" if unit == "pieces" and number == 1 else unit)
    )


def length(value: Length, unit: str = "mm", places: int | None = None) -> str:
    return _grouped(value.decimal(unit, PLACES[unit] if places is None else places)) + SPACE + unit


def volume(value: Volume, unit: str = "cm³", places: int = 2) -> str:
    return _grouped(value.decimal(unit, places)) + SPACE + unit


def area(value: Area, unit: str = "cm²", places: int = 2) -> str:
    return _grouped(value.decimal(unit, places)) + SPACE + unit


def density(value: Density) -> str:
    return _grouped(value.decimal("g/cm³", 2)) + SPACE + "g/cm³"


def temperature(value: Temperature, unit: str = "°C") -> str:
    number = value.fahrenheit() if unit == "°F" else value.celsius()
    return _grouped(number) + SPACE + unit


def temperature_range(value: TemperatureRange, unit: str = "°C") -> str:
    if value.low == value.high:
        return temperature(value.low, unit)
    low = temperature(value.low, unit).removesuffix(SPACE + unit)
    return low + EN_DASH + temperature(value.high, unit)


def percent(value: Share, places: int = 1) -> str:
    return _grouped(value.decimal("%", places)) + SPACE + "%"


def fineness(value: Share) -> str:
    """Parts per thousand, without decimals where there are none: 925 ‰, 958.4 ‰."""
    number = value.decimal("‰", 1)
    return _grouped(number.quantize(Decimal(1)) if number == number.to_integral() else number) + SPACE + "‰"


def money(value: Money, currency: str) -> str:
    return _grouped(value.decimal("unit", 2)) + SPACE + currency


def local(at: datetime, timezone: str) -> datetime:
    """A moment of the record on the shop's own clock."""
    return at.astimezone(ZoneInfo(timezone)).replace(tzinfo=None)


def minutes(value: int) -> str:
    """A duration: 45 min, 2 h, 2 h 30 min."""
    hours, rest = divmod(value, 60)
    parts = ([f"{hours}{SPACE}h"] if hours else []) + ([f"{rest}{SPACE}min"] if rest or not hours else [])
    return " ".join(parts)


def time_of_day(after_midnight: int) -> str:
    """Minutes after midnight as a clock time: 08:30."""
    return f"{after_midnight // 60:02d}:{after_midnight % 60:02d}"


WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day(value: str | date) -> str:
    """A calendar day: Wed 25 Nov. Takes an ISO date text too."""
    when = date.fromisoformat(value) if isinstance(value, str) else value
    return f"{WEEKDAYS[when.weekday()]} {when.day} {MONTHS[when.month - 1]}"


def long_day(value: str | date) -> str:
    """With its year: Wed 25 Nov 2026."""
    when = date.fromisoformat(value) if isinstance(value, str) else value
    return f"{day(when)} {when.year}"


def clock(value: datetime) -> str:
    """The time of day of a moment: 14:05."""
    return f"{value.hour:02d}:{value.minute:02d}"


def moment(value: datetime) -> str:
    """Wed 25 Nov 14:05."""
    return f"{day(value.date())} {clock(value)}"


def count(number: int, one: str, many: str = "") -> str:
    """1 flask, 3 flasks, 2 pieces; ``many`` where the plural is not ``one`` with an s."""
    return f"{number} {one if number == 1 else many or one + 's'}"
