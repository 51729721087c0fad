"""How a reader wants amounts, numbers, days and times of day to be written, and takes what they type without a unit.

Set once for a request (``acting``), followed by everything that is written meanwhile (``formats``) and read
(``reading``, ``forms``). Nothing that is kept, compared or exported may depend on it: what the database holds, what
marks a checklist's ticks as outdated, JSON documents, CSV and XLSX stay metric.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, fields, replace
from enum import StrEnum
from typing import Any


class Language(StrEnum):
    """In which screens and prints speak: each by its own name."""

    ENGLISH = "English"
    GERMAN = "Deutsch"
    SPANISH = "Español"

    @property
    def code(self) -> str:
        """By ISO 639-1."""
        return {"English": "en", "Deutsch": "de", "Español": "es"}[self.value]


class Metal(StrEnum):
    """The unit of metal, patterns and trees."""

    G = "g"
    DWT = "dwt"
    OZT = "ozt"


class Investment(StrEnum):
    """The unit of powder and of what it is mixed with."""

    G = "g"
    LB = "lb"


class Lengths(StrEnum):
    MM = "mm"
    INCH = "in"


class Volumes(StrEnum):
    CM3 = "cm³"
    CUBIC_INCH = "in³"


class Degrees(StrEnum):
    CELSIUS = "°C"
    FAHRENHEIT = "°F"


class Numbers(StrEnum):
    """How 1234.5 is written."""

    PLAIN = "1 234.5"
    POINT = "1,234.5"
    COMMA = "1.234,5"
    SPACED = "1 234,5"

    @property
    def mark(self) -> str:
        """Between whole and part."""
        return self.value[-2]


class Days(StrEnum):
    DAY_FIRST = "26 Nov"
    MONTH_FIRST = "Nov 26"


class Hours(StrEnum):
    DAY = "14:05"
    HALF = "2:05 pm"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ways:
    """What one reader chose. Speeds, densities, pressures, shares and fineness are the same for all."""

    metal: Metal = Metal.G
    investment: Investment = Investment.G
    lengths: Lengths = Lengths.MM
    volumes: Volumes = Volumes.CM3
    degrees: Degrees = Degrees.CELSIUS
    numbers: Numbers = Numbers.PLAIN
    days: Days = Days.DAY_FIRST
    hours: Hours = Hours.DAY
    language: Language = Language.ENGLISH

    @property
    def choices(self) -> Mapping[str, str]:
        """Which mark parts the whole of a number from the rest, where ``1,234`` could be either. Whoever has not
        said is asked."""
        return {} if self.numbers is Numbers.PLAIN else {"decimal": "comma" if self.numbers.mark == "," else "point"}

    @property
    def said(self) -> str:
        """As a form carries it along, to be read again by ``understood``."""
        return ";".join(str(getattr(self, field.name)) for field in fields(self))


METRIC = Ways()
CUSTOMARY = Ways(
    metal=Metal.DWT,
    investment=Investment.LB,
    lengths=Lengths.INCH,
    volumes=Volumes.CUBIC_INCH,
    degrees=Degrees.FAHRENHEIT,
    numbers=Numbers.POINT,
    days=Days.MONTH_FIRST,
    hours=Hours.HALF,
)
"""U.S. customary units, with the numbers, days and times of day that go with them."""
KINDS: dict[str, type[StrEnum]] = {
    "metal": Metal,
    "investment": Investment,
    "lengths": Lengths,
    "volumes": Volumes,
    "degrees": Degrees,
    "numbers": Numbers,
    "days": Days,
    "hours": Hours,
    "language": Language,
}
FORM_FIELD = "ways"
"""The hidden field of a form that says in which ways it was shown."""
_WAYS: ContextVar[Ways] = ContextVar("ways", default=METRIC)


def current() -> Ways:
    """Whoever reads or types: theirs."""
    return _WAYS.get()


def follow(ways: Ways) -> None:
    """For the rest of this request."""
    _WAYS.set(ways)


@contextmanager
def within(ways: Ways) -> Iterator[None]:
    """For what is written or read within."""
    token = _WAYS.set(ways)
    try:
        yield
    finally:
        _WAYS.reset(token)


def chosen(typed: Mapping[str, str], before: Ways = METRIC) -> Ways:
    """The fields as chosen; what is not there, or is no choice, stays as it was."""
    told: dict[str, Any] = {name: kind(typed[name]) for name, kind in KINDS.items() if typed.get(name) in list(kind)}
    return replace(before, **told)


def as_usual_in(ways: Ways) -> Ways:
    """With the numbers that go with the language: 1.234,5 in German and Spanish."""
    return replace(ways, numbers=Numbers.PLAIN if ways.language is Language.ENGLISH else Numbers.COMMA)


def unchosen() -> Ways:
    """Of whoever has chosen nothing and whose shop has not: metric, in the language in which they are read to."""
    return as_usual_in(replace(METRIC, language=current().language))


def understood(text: str) -> Ways | None:
    """What ``Ways.said`` told; none for anything else."""
    found = chosen(dict(zip(KINDS, text.split(";"), strict=False)))
    return found if found.said == text else None
