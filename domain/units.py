"""Values with a unit: frozen, integer inside, and unable to mix kinds.

Each type keeps one integer in a fine base unit, so that sums are exact. Constructors and
``to`` name the unit; nothing else in the project converts units.

Sources: troy ounce, pennyweight, grain, avoirdupois ounce and pound as in NIST Handbook 44,
Appendix C; inch 25.4 mm exactly (ibid.).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from typing import ClassVar, Self, TypeAlias, TypeVar

from domain.errors import InvalidValue
from domain.saying import say

Number: TypeAlias = int | float | str | Decimal | Fraction
"""What a constructor takes. A float is read by its shortest decimal text, not its binary value."""


def exact(number: Number) -> Fraction:
    """The number as an exact fraction. Raises ``ValueError`` on text that is not a finite number."""
    if isinstance(number, float):
        number = repr(number)
    return Fraction(number)


def nearest(value: Fraction) -> int:
    """Round half to even."""
    return round(value)


def _rounded(value: Fraction, places: int, rounding: str) -> Decimal:
    quantum = Decimal(1).scaleb(-places)
    decimal = Decimal(value.numerator) / Decimal(value.denominator)
    return decimal.quantize(quantum, rounding=rounding)


@dataclass(frozen=True, slots=True, order=True)
class Quantity:
    """One integer count of a base unit. Subclasses add, subtract and compare only with their own kind."""

    base: int

    UNITS: ClassVar[dict[str, Fraction]] = {}
    """Size of each unit in base units."""

    @classmethod
    def of(cls, number: Number, unit: str) -> Self:
        """A quantity of ``number`` ``unit``, to the nearest base unit.

        Raises ``InvalidValue`` for a unit of another kind or text that is not a number.
        """
        try:
            return cls(nearest(exact(number) * cls.UNITS[unit]))
        except KeyError:
            known = ", ".join(cls.UNITS)
            kind = KINDS.get(cls.__name__, cls.__name__.lower())
            words = say("“{unit}” is not a unit of {kind}; use {known}", unit=unit, kind=kind, known=known)
            raise InvalidValue(cls.__name__.lower(), words) from None
        except (ValueError, ZeroDivisionError, OverflowError):
            raise InvalidValue(cls.__name__.lower(), say("“{number}” is not a number", number=number)) from None

    def to(self, unit: str) -> Fraction:
        """The exact number of ``unit``."""
        return Fraction(self.base) / self.UNITS[unit]

    def decimal(self, unit: str, places: int, rounding: str = ROUND_HALF_EVEN) -> Decimal:
        """The number of ``unit``, rounded to ``places`` decimals, for display."""
        return _rounded(self.to(unit), places, rounding)

    def __add__(self, other: Self) -> Self:
        self._same_kind(other)
        return type(self)(self.base + other.base)

    def __sub__(self, other: Self) -> Self:
        self._same_kind(other)
        return type(self)(self.base - other.base)

    def __neg__(self) -> Self:
        return type(self)(-self.base)

    def times(self, factor: Number) -> Self:
        """This quantity ``factor`` times, to the nearest base unit."""
        return type(self)(nearest(self.base * exact(factor)))

    def over(self, other: Self) -> Fraction:
        """The exact ratio of two quantities of one kind."""
        self._same_kind(other)
        return Fraction(self.base, other.base)

    def _same_kind(self, other: object) -> None:
        if type(other) is not type(self):
            raise TypeError(f"{type(self).__name__} and {type(other).__name__} do not mix")


Q = TypeVar("Q", bound=Quantity)

KINDS = {
    "Mass": say("mass"),
    "Length": say("length"),
    "Area": say("area"),
    "Volume": say("volume"),
    "Density": say("density"),
    "Pressure": say("pressure"),
    "Share": say("share"),
    "Money": say("money"),
    "Amount": say("amount"),
}
"""What the quantities are called."""


def total(kind: type[Q], parts: Iterable[Q]) -> Q:
    """The sum of quantities of one kind; zero of that kind when there are none."""
    result = kind(0)
    for part in parts:
        result = result + part
    return result


@dataclass(frozen=True, slots=True, order=True)
class Mass(Quantity):
    """Mass, kept in whole milligrams."""

    UNITS: ClassVar[dict[str, Fraction]] = {
        "mg": Fraction(1),
        "g": Fraction(1000),
        "kg": Fraction(1_000_000),
        "ct": Fraction(200),
        "gr": Fraction("64.79891"),
        "dwt": Fraction("1555.17384"),
        "ozt": Fraction("31103.4768"),
        "oz": Fraction("28349.523125"),
        "lb": Fraction("453592.37"),
    }

    @classmethod
    def g(cls, number: Number) -> Self:
        return cls.of(number, "g")

    @classmethod
    def mg(cls, number: Number) -> Self:
        return cls.of(number, "mg")

    def rounded_up(self, step: Mass) -> Mass:
        """The least multiple of ``step`` that is not less."""
        return Mass(-(-self.base // step.base) * step.base)

    def rounded_down(self, step: Mass) -> Mass:
        """The greatest multiple of ``step`` that is not more."""
        return Mass(self.base // step.base * step.base)


@dataclass(frozen=True, slots=True, order=True)
class Length(Quantity):
    """Length, kept in whole micrometres."""

    UNITS: ClassVar[dict[str, Fraction]] = {
        "µm": Fraction(1),
        "mm": Fraction(1000),
        "cm": Fraction(10_000),
        "m": Fraction(1_000_000),
        "in": Fraction(25_400),
        "ft": Fraction(304_800),
    }

    @classmethod
    def mm(cls, number: Number) -> Self:
        return cls.of(number, "mm")


@dataclass(frozen=True, slots=True, order=True)
class Volume(Quantity):
    """Volume, kept in whole nanolitres (a thousandth of a cubic millimetre)."""

    UNITS: ClassVar[dict[str, Fraction]] = {
        "mm³": Fraction(1000),
        "cm³": Fraction(1_000_000),
        "ml": Fraction(1_000_000),
        "l": Fraction(1_000_000_000),
        "in³": Fraction("16387064"),
    }

    @classmethod
    def mm3(cls, number: Number) -> Self:
        return cls.of(number, "mm³")

    @classmethod
    def cm3(cls, number: Number) -> Self:
        return cls.of(number, "cm³")


@dataclass(frozen=True, slots=True, order=True)
class Area(Quantity):
    """Area, kept in whole square micrometres."""

    UNITS: ClassVar[dict[str, Fraction]] = {
        "mm²": Fraction(1_000_000),
        "cm²": Fraction(100_000_000),
        "in²": Fraction(25_400) ** 2,
    }


@dataclass(frozen=True, slots=True, order=True)
class Density(Quantity):
    """Density, kept in whole milligrams per cubic centimetre."""

    UNITS: ClassVar[dict[str, Fraction]] = {"g/cm³": Fraction(1000), "mg/cm³": Fraction(1), "kg/m³": Fraction(1)}

    @classmethod
    def g_cm3(cls, number: Number) -> Self:
        return cls.of(number, "g/cm³")

    def mass_of(self, volume: Volume) -> Mass:
        """m = V × ρ, to the nearest milligram."""
        return Mass(nearest(Fraction(volume.base * self.base, 1_000_000)))

    def volume_of(self, mass: Mass) -> Volume:
        """V = m / ρ, to the nearest nanolitre."""
        return Volume(nearest(Fraction(mass.base * 1_000_000, self.base)))


@dataclass(frozen=True, slots=True, order=True)
class Pressure(Quantity):
    """Gauge pressure, kept in whole pascals. A pound per square inch is a pound under standard gravity
    (9.80665 m/s²) on a square inch."""

    UNITS: ClassVar[dict[str, Fraction]] = {
        "Pa": Fraction(1),
        "kPa": Fraction(1000),
        "mbar": Fraction(100),
        "bar": Fraction(100_000),
        "psi": Fraction("0.45359237") * Fraction("9.80665") / Fraction("0.0254") ** 2,
    }


@dataclass(frozen=True, slots=True, order=True)
class Share(Quantity):
    """A share of a whole, kept in whole parts per million by mass. Fineness is a share."""

    UNITS: ClassVar[dict[str, Fraction]] = {
        "ppm": Fraction(1),
        "‰": Fraction(1000),
        "%": Fraction(10_000),
        "1": Fraction(1_000_000),
    }

    @classmethod
    def percent(cls, number: Number) -> Self:
        return cls.of(number, "%")

    @classmethod
    def permille(cls, number: Number) -> Self:
        """Fineness is given in parts per thousand (ISO 9202)."""
        return cls.of(number, "‰")

    def of_mass(self, mass: Mass) -> Mass:
        """This share of ``mass``, to the nearest milligram."""
        return Mass(nearest(Fraction(mass.base * self.base, 1_000_000)))


@dataclass(frozen=True, slots=True, order=True)
class Temperature:
    """A temperature, kept in whole thousandths of a degree Celsius. Two of them differ by degrees,
    they do not add: use ``above`` and ``raised_by``."""

    millidegrees: int

    @classmethod
    def c(cls, number: Number) -> Temperature:
        """Degrees Celsius."""
        return cls(nearest(exact(number) * 1000))

    @classmethod
    def f(cls, number: Number) -> Temperature:
        """Degrees Fahrenheit: °C = (°F − 32) × 5/9."""
        return cls(nearest((exact(number) - 32) * 5000 / 9))

    def celsius(self, places: int = 0) -> Decimal:
        return _rounded(Fraction(self.millidegrees, 1000), places, ROUND_HALF_EVEN)

    def fahrenheit(self, places: int = 0) -> Decimal:
        return _rounded(Fraction(self.millidegrees * 9, 5000) + 32, places, ROUND_HALF_EVEN)

    def above(self, other: Temperature) -> Fraction:
        """How many degrees Celsius this is above ``other``."""
        return Fraction(self.millidegrees - other.millidegrees, 1000)

    def raised_by(self, degrees: Number) -> Temperature:
        """This temperature raised by Celsius degrees (lowered by negative ones)."""
        return Temperature(self.millidegrees + nearest(exact(degrees) * 1000))


@dataclass(frozen=True, slots=True)
class TemperatureRange:
    """From ``low`` to ``high``, both included."""

    low: Temperature
    high: Temperature

    def __post_init__(self) -> None:
        if self.high < self.low:
            raise InvalidValue(
                "range",
                say(
                    "the range ends ({high} °C) below its start ({low} °C)",
                    high=self.high.celsius(),
                    low=self.low.celsius(),
                ),
            )

    @classmethod
    def c(cls, low: Number, high: Number) -> TemperatureRange:
        return cls(Temperature.c(low), Temperature.c(high))

    def __contains__(self, temperature: Temperature) -> bool:
        return self.low <= temperature <= self.high

    def intersection(self, other: TemperatureRange) -> TemperatureRange | None:
        low, high = max(self.low, other.low), min(self.high, other.high)
        return TemperatureRange(low, high) if low <= high else None


@dataclass(frozen=True, slots=True, order=True)
class Money(Quantity):
    """Money, kept in whole cents of the shop's currency."""

    UNITS: ClassVar[dict[str, Fraction]] = {"cent": Fraction(1), "unit": Fraction(100)}


UP, DOWN = ROUND_CEILING, ROUND_FLOOR
"""Directions for ``Quantity.decimal`` where rounding must not flatter."""
