"""Field types that read a number in a named unit, or a text with a unit of its own.

A number, or a text without a unit, is in the field's unit. Written out, a value is a plain JSON
number in the field's unit that reads back to exactly the same value: the units are powers of ten
of the integer inside, and nothing longer than 15 digits is let in.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Annotated, Any, Generic, TypeVar

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from domain.errors import DomainError
from domain.intake import typed
from domain.shop.consumables import Amount
from domain.units import Density, Length, Mass, Money, Quantity, Share, Temperature, Volume, exact

V = TypeVar("V")
LONGEST = 10**15
"""A float tells integers of up to 15 digits apart, whatever the place of the point."""


def refuse(message: str) -> PydanticCustomError:
    """An error of one field; the message is shown as it is."""
    return PydanticCustomError("value", "{message}", {"message": message})


def json_number(value: Fraction) -> int | float:
    """The shortest plain JSON number for a value with a finite decimal expansion."""
    return value.numerator if value.denominator == 1 else float(value)


@dataclass(frozen=True, slots=True)
class Measure(Generic[V]):
    """Annotates a value type: ``noun`` and ``unit`` for messages, how a number of ``unit`` and a
    text become a value, and how a value becomes a number of ``unit`` again. ``above``, ``least``
    and ``most`` are limits in ``unit``; ``above`` is not itself allowed."""

    kind: type[V]
    noun: str
    unit: str
    from_number: Callable[[Fraction], V]
    from_text: Callable[[str], V]
    to_number: Callable[[V], Fraction]
    above: int | None = None
    least: int | None = None
    most: int | None = None
    bulk: bool = False
    """Powder, not metal: people weigh it in other units."""

    def read(self, value: object) -> V:
        """The value within its limits. Raises a field error for anything else."""
        return self._within_limits(self._read(value))

    def write(self, value: V) -> int | float:
        return json_number(self.to_number(value))

    def _read(self, value: object) -> V:
        if isinstance(value, self.kind):
            return value
        try:
            if isinstance(value, str):
                return self.from_text(value)
            if isinstance(value, int | float) and not isinstance(value, bool):
                return self.from_number(exact(value))
        except DomainError as error:
            raise refuse(str(error)) from None
        except (ValueError, OverflowError):
            raise refuse(f"“{value}” is not a number") from None
        raise refuse(f"must be a number of {self.unit}, or a text with a unit")

    def _within_limits(self, value: V) -> V:
        number = self.to_number(value)
        if self.above is not None and number <= self.above:
            raise refuse(f"the {self.noun} must be more than {self.above} {self.unit}")
        if self.least is not None and number < self.least:
            raise refuse(f"the {self.noun} must not be less than {self.least} {self.unit}")
        if self.most is not None and number > self.most:
            raise refuse(f"the {self.noun} must not be more than {self.most} {self.unit}")
        if abs(number) * self._fineness() >= LONGEST:
            raise refuse(f"the {self.noun} is too large")
        return value

    def _fineness(self) -> Fraction:
        """How many of the smallest step make one ``unit``."""
        one = self.from_number(Fraction(1))
        return Fraction(one.base if isinstance(one, Quantity) else 1000)

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        writer = core_schema.plain_serializer_function_ser_schema(self.write)
        return core_schema.no_info_plain_validator_function(self.read, serialization=writer)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        number: dict[str, Any] = {"type": "number"}
        limits = {"exclusiveMinimum": self.above, "minimum": self.least, "maximum": self.most}
        number.update({name: limit for name, limit in limits.items() if limit is not None})
        if handler.mode == "serialization":
            return {**number, "unit": self.unit}
        return {"anyOf": [number, {"type": "string"}], "unit": self.unit}


def _mass(unit: str, **limits: Any) -> Measure[Mass]:
    return Measure(
        Mass, "mass", unit, lambda n: Mass.of(n, unit), lambda t: typed.read_mass(t, unit), lambda v: v.to(unit), **limits
    )


def _length(unit: str, noun: str = "length", **limits: Any) -> Measure[Length]:
    return Measure(
        Length, noun, unit, lambda n: Length.of(n, unit), lambda t: typed.read_length(t, unit), lambda v: v.to(unit), **limits
    )


def _volume(unit: str, **limits: Any) -> Measure[Volume]:
    return Measure(
        Volume, "volume", unit, lambda n: Volume.of(n, unit), lambda t: typed.read_volume(t, unit), lambda v: v.to(unit), **limits
    )


def _share(unit: str, noun: str = "share", **limits: Any) -> Measure[Share]:
    return Measure(
        Share, noun, unit, lambda n: Share.of(n, unit), lambda t: typed.read_share(t, unit), lambda v: v.to(unit), **limits
    )


Grams = Annotated[Mass, _mass("g", least=0)]
PositiveGrams = Annotated[Mass, _mass("g", above=0)]
BulkGrams = Annotated[Mass, _mass("g", least=0, bulk=True)]
PositiveBulkGrams = Annotated[Mass, _mass("g", above=0, bulk=True)]
Millimetres = Annotated[Length, _length("mm", least=0)]
PositiveMillimetres = Annotated[Length, _length("mm", above=0)]
PositiveMm3 = Annotated[Volume, _volume("mm³", above=0)]
Cm3 = Annotated[Volume, _volume("cm³", least=0)]
PositiveCm3 = Annotated[Volume, _volume("cm³", above=0)]
Percent = Annotated[Share, _share("%", least=0, most=100)]
MeltLoss = Annotated[Share, _share("%", "melt loss", least=0, most=50)]
Ratio = Annotated[Share, _share("%", "ratio", least=0, most=1000)]
"""One mass to another, in per cent; may be more than the whole."""
Permille = Annotated[Share, _share("‰", "fineness", least=0, most=1000)]
GramsPerCm3 = Annotated[
    Density,
    Measure(Density, "density", "g/cm³", Density.g_cm3, lambda t: typed.read_density(t, "g/cm³"), lambda v: v.to("g/cm³"), above=0),
]
Celsius = Annotated[
    Temperature,
    Measure(
        Temperature,
        "temperature",
        "°C",
        Temperature.c,
        lambda t: typed.read_temperature(t, "°C"),
        lambda v: Fraction(v.millidegrees, 1000),
        least=-50,
        most=4000,
    ),
]
Amounts = Annotated[
    Amount,
    Measure(
        Amount,
        "amount",
        "unit",
        lambda n: Amount.of(n, "unit"),
        lambda t: Amount.of(typed.read_number(t, "amount"), "unit"),
        lambda v: v.to("unit"),
        least=0,
    ),
]
"""In the unit that the thing itself is counted in."""
PositiveAmounts = Annotated[
    Amount,
    Measure(
        Amount,
        "amount",
        "unit",
        lambda n: Amount.of(n, "unit"),
        lambda t: Amount.of(typed.read_number(t, "amount"), "unit"),
        lambda v: v.to("unit"),
        above=0,
    ),
]
CurrencyUnits = Annotated[
    Money,
    Measure(
        Money,
        "price",
        "unit",
        lambda n: Money.of(n, "unit"),
        lambda t: Money.of(typed.read_number(t, "price"), "unit"),
        lambda v: v.to("unit"),
        least=0,
    ),
]
