"""How values are written on screens and prints: one place for decimals, units and dates.

Every number carries its unit. Units, number style and clock are those of whoever reads (``ways``), unless a caller
names a unit.
"""

from __future__ import annotations

import re
from datetime import date, datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from domain.saying import Saying, heard, say
from domain.shop.consumables import Amount
from domain.units import Area, Density, Length, Mass, Money, Quantity, Share, Temperature, TemperatureRange, Volume
from webapp.languages.days import day_in, long_month_in, month_in, short_day_in, weekday_in
from webapp.languages.recall import recalled
from webapp.ways import METRIC, Days, Degrees, Hours, Language, Lengths, Numbers, Volumes, current

SPACE = "\N{NARROW NO-BREAK SPACE}"
EN_DASH = "\N{EN DASH}"
NO_BREAK = "\N{NO-BREAK SPACE}"
MOST_PLACES = 9

PLACES = {"mg": 0, "g": 2, "kg": 3, "ct": 2, "gr": 1, "dwt": 2, "ozt": 3, "oz": 3, "lb": 3, "mm": 1, "cm": 2, "in": 3}
"""Decimals that a reader has use for: about as fine as the tool that measures."""
TO_WEIGH = {"g": 2, "dwt": 3, "ozt": 4}
"""Finer than the scale steps, so that what was rounded towards the fineness stays on that side."""
TO_THE_MILLIGRAM = {"g": 3, "dwt": 4, "ozt": 5}
IN_VOLUME = {"mm³": 5, "cm³": 3, "ml": 1, "l": 1}
"""Decimals of cubic inches in place of these."""


def number(value: Decimal) -> str:
    """A number as the reader writes it: thousands apart, the part behind their mark."""
    style = current().numbers
    marks = {Numbers.PLAIN: (SPACE, "."), Numbers.POINT: (",", "."), Numbers.COMMA: (".", ","), Numbers.SPACED: (SPACE, ",")}
    apart, mark = marks[style]
    whole, _, part = f"{value:,f}".partition(".")
    return (whole.replace(",", apart) + (mark + part if part else "")).replace("-", "\N{MINUS SIGN}")


def _written(value: Quantity, unit: str, places: int) -> str:
    return number(value.decimal(unit, places)) + SPACE + unit


def mass(value: Mass, unit: str | None = None, places: int | None = None) -> str:
    """Metal, patterns and trees."""
    unit = unit or current().metal
    return _written(value, unit, PLACES[unit] if places is None else places)


def to_weigh(value: Mass) -> str:
    """What is to be put on the scale."""
    return mass(value, places=TO_WEIGH[current().metal])


def exact_mass(value: Mass) -> str:
    """To the milligram, as the books hold it."""
    return mass(value, places=TO_THE_MILLIGRAM[current().metal])


def bulk(value: Mass, places: int = 0) -> str:
    """Powder and what it is mixed with; ``places`` of grams."""
    unit = current().investment
    return _written(value, unit, places if unit == "g" else PLACES[unit])


def amount(value: Amount, unit: str) -> str:
    """In its own unit, with as many decimals as it has; what is counted in grams from a kilogram on in these, or in
    pounds."""
    if unit == "g":
        chosen = current().investment
        own = "kg" if chosen == "g" and abs(value.base) >= 1_000_000 else chosen
        return _written(Mass(value.base), own, PLACES[own])
    if unit == "pieces":
        pieces = say("piece") if value.base == Amount.of(1, "unit").base else say("pieces")
        return say("{number}{space}{unit}", number=bare_amount(value), space=SPACE, unit=pieces)
    return bare_amount(value) + SPACE + unit


def bare_amount(value: Amount) -> str:
    exact = value.decimal("unit", 3)
    whole = exact.to_integral_value()
    return number(whole if exact == whole else exact.normalize())


def length(value: Length, unit: str | None = None, places: int | None = None) -> str:
    """``places`` of millimetres; one thousandth of an inch is enough for everything here."""
    unit = unit or current().lengths
    return _written(value, unit, PLACES[unit] if places is None or unit == Lengths.INCH else places)


def volume(value: Volume, unit: str = "cm³", places: int = 2) -> str:
    """``unit``: the metric one that is usual here, and ``places`` of it."""
    if current().volumes is Volumes.CUBIC_INCH:
        return _written(value, "in³", IN_VOLUME[unit])
    return _written(value, unit, places)


def area(value: Area, places: int = 2) -> str:
    return _written(value, "in²" if current().lengths is Lengths.INCH else "cm²", places)


def density(value: Density) -> str:
    return _written(value, "g/cm³", 2)


def temperature(value: Temperature, unit: str | None = None, places: int = 0) -> str:
    unit = unit or current().degrees
    return number(value.fahrenheit(places) if unit == Degrees.FAHRENHEIT else value.celsius(places)) + SPACE + unit


def temperature_range(value: TemperatureRange, unit: str | None = None) -> str:
    unit = unit or current().degrees
    if value.low == value.high:
        return temperature(value.low, unit)
    low = temperature(value.low, unit).removesuffix(SPACE + unit)
    return low + EN_DASH + temperature(value.high, unit)


def as_typed(value: Quantity | Temperature, unit: str) -> str:
    """The number for a field to be edited: the fewest decimals that read back to the very same value, so that a field
    nobody touched changes nothing."""
    for places in range(MOST_PLACES + 1):
        text = in_unit(value, unit, places)
        if _back(value, text, unit) == value:
            break
    return f"{text:f}".replace(".", current().numbers.mark)


def in_unit(value: Quantity | Temperature, unit: str, places: int) -> Decimal:
    if isinstance(value, Temperature):
        return value.fahrenheit(places) if unit == Degrees.FAHRENHEIT else value.celsius(places)
    return value.decimal(unit, places)


def _back(value: Quantity | Temperature, text: Decimal, unit: str) -> Quantity | Temperature:
    if isinstance(value, Temperature):
        return Temperature.f(text) if unit == Degrees.FAHRENHEIT else Temperature.c(text)
    return type(value).of(text, unit)


def mass_typed(value: Mass) -> str:
    """Metal for a field to be edited, with its unit: 12.4 g."""
    return f"{as_typed(value, current().metal)} {current().metal}"


def money_typed(value: Money) -> str:
    """A price for a field to be edited: 12.50."""
    return f"{value.decimal('unit', 2):f}".replace(".", current().numbers.mark)


def amount_typed(value: Amount, unit: str) -> str:
    """The same for what is on the shelf, in its own unit."""
    if unit == "g":
        chosen = current().investment
        own = "kg" if chosen == "g" and abs(value.base) >= 1_000_000 else chosen
        return f"{as_typed(Mass(value.base), own)} {own}"
    return as_typed(value, "unit")


def begun(words: object) -> str:
    """As a line or a sentence begins, in the reader's language."""
    text = heard(words)
    return text[:1].upper() + text[1:]


_METRIC = re.compile(r"(?<![\w.,/])([-−]?[0-9]+(?:\.[0-9]+)?) (g|mm|°C)(?: \([-−]?[0-9]+ °F\))?(?![\w/³²]| an hour)")


def retold(words: str) -> str:
    """A sentence of ours that tells amounts in g, mm or °C, in the reader's language and units; one that was kept as
    plain text too."""
    if current() == METRIC:
        return words
    known = isinstance(words, Saying) or current().language is Language.ENGLISH
    return _METRIC.sub(_retold, heard(words if known else recalled(words)))


def _retold(found: re.Match[str]) -> str:
    value, unit = found[1].replace("−", "-"), found[2]
    if unit == "°C":
        return temperature(Temperature.c(value))
    return mass(Mass.g(value)) if unit == "g" else length(Length.mm(value))


def percent(value: Share, places: int = 1) -> str:
    return number(value.decimal("%", places)) + SPACE + "%"


def fineness(value: Share) -> str:
    """Parts per thousand, without decimals where there are none: 925 ‰, 958.4 ‰."""
    parts = value.decimal("‰", 1)
    return number(parts.quantize(Decimal(1)) if parts == parts.to_integral() else parts) + SPACE + "‰"


def money(value: Money, currency: str) -> str:
    return number(value.decimal("unit", 2)) + SPACE + currency


def local(at: datetime, timezone: str) -> datetime:
    """A moment of the record on the shop's own clock."""
    return at.astimezone(ZoneInfo(timezone)).replace(tzinfo=None)


def minutes(value: int) -> str:
    """A duration: 45 min, 2 h, 2 h 30 min."""
    hours, rest = divmod(value, 60)
    parts = ([f"{hours}{SPACE}h"] if hours else []) + ([f"{rest}{SPACE}min"] if rest or not hours else [])
    return " ".join(parts)


def time_of_day(after_midnight: int) -> str:
    """Minutes after midnight as a clock time: 08:30, or 8:30 am. The end of a day is 24:00 for everybody."""
    hour, minute = divmod(after_midnight, 60)
    if current().hours is Hours.DAY or hour >= 24:
        return f"{hour:02d}:{minute:02d}"
    return f"{hour % 12 or 12}:{minute:02d}{NO_BREAK}{'am' if hour < 12 else 'pm'}"


WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def day(value: str | date) -> str:
    """A calendar day: Wed 25 Nov, or Wed Nov 25. Takes an ISO date text too."""
    when = date.fromisoformat(value) if isinstance(value, str) else value
    if current().language is not Language.ENGLISH:
        return day_in(current().language, when)
    month = MONTHS[when.month - 1]
    date_of = f"{when.day} {month}" if current().days is Days.DAY_FIRST else f"{month} {when.day}"
    return f"{WEEKDAYS[when.weekday()]} {date_of}"


def long_day(value: str | date) -> str:
    """With its year: Wed 25 Nov 2026, or Wed Nov 25, 2026."""
    when = date.fromisoformat(value) if isinstance(value, str) else value
    if current().language is not Language.ENGLISH:
        return day_in(current().language, when, year=True)
    return f"{day(when)}{',' if current().days is Days.MONTH_FIRST else ''} {when.year}"


def short_day(value: str) -> str:
    """For a scale of days, as short as can be: Wed 25. Takes an ISO date text."""
    if current().language is not Language.ENGLISH:
        return short_day_in(current().language, date.fromisoformat(value))
    return day(value)[:6]


def weekday(when: date) -> str:
    """Its name alone: Wednesday."""
    return weekday_in(current().language, when)


def month(when: date) -> str:
    """For a scale of months: Nov 2026."""
    return month_in(current().language, when)


def long_month(value: str) -> str:
    """As a heading: November 2026. Takes its ISO text, 2026-11."""
    return long_month_in(current().language, date.fromisoformat(f"{value}-01"))


def clock(value: datetime) -> str:
    """The time of day of a moment: 14:05, or 2:05 pm."""
    return time_of_day(value.hour * 60 + value.minute)


def hour(value: datetime) -> str:
    """For a scale, as short as can be: 14, or 2 pm."""
    return f"{value.hour:02d}" if current().hours is Hours.DAY else f"{value.hour % 12 or 12}{'am' if value.hour < 12 else 'pm'}"


def full_hour(value: datetime) -> str:
    """For a scale of full hours: 20:00, or 8 pm."""
    return clock(value) if current().hours is Hours.DAY or value.minute else f"{hour(value)[:-2]}{NO_BREAK}{hour(value)[-2:]}"


def moment(value: datetime) -> str:
    """Wed 25 Nov 14:05."""
    return f"{day(value.date())} {clock(value)}"


def count(number: int, one: str, many: str = "") -> Saying:
    """1 flask, 3 flasks, 2 pieces; ``many`` where the plural is not ``one`` with an s. Both are in the catalogues."""
    return say("{number} " + (one if number == 1 else many or one + "s"), number=number)
