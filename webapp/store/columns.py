"""Column types: attributes are the domain's value types, the database holds whole base units."""

from __future__ import annotations

from datetime import UTC, date, datetime
from enum import StrEnum
from typing import Any, TypeVar

from pydantic import TypeAdapter
from sqlalchemy import BigInteger, CheckConstraint, Date, DateTime, Enum, Text
from sqlalchemy.engine import Dialect
from sqlalchemy.types import TypeDecorator
from sqlmodel import Field

from domain.shop.consumables import Amount
from domain.units import Density, Length, Mass, Money, Quantity, Share, Temperature, Volume
from webapp.steady import happened

Q = TypeVar("Q", bound=Quantity)
E = TypeVar("E", bound=StrEnum)


class QuantityColumn(TypeDecorator[Q]):
    """A quantity as its whole number of base units. Refuses any other kind, a bare number too."""

    impl = BigInteger
    cache_ok = True
    kind: type[Q]

    def process_bind_param(self, value: Q | None, dialect: Dialect) -> int | None:
        if value is not None and type(value) is not self.kind:
            raise TypeError(f"{self.kind.__name__} expected, not {type(value).__name__}")
        return None if value is None else value.base

    def process_result_value(self, value: int | None, dialect: Dialect) -> Q | None:
        # PostgreSQL adds whole numbers up to a decimal
        return None if value is None else self.kind(int(value))


class MassColumn(QuantityColumn[Mass]):
    """milligrams"""

    cache_ok = True
    kind = Mass


class LengthColumn(QuantityColumn[Length]):
    """micrometres"""

    cache_ok = True
    kind = Length


class VolumeColumn(QuantityColumn[Volume]):
    """nanolitres"""

    cache_ok = True
    kind = Volume


class DensityColumn(QuantityColumn[Density]):
    """milligrams per cubic centimetre"""

    cache_ok = True
    kind = Density


class ShareColumn(QuantityColumn[Share]):
    """parts per million"""

    cache_ok = True
    kind = Share


class MoneyColumn(QuantityColumn[Money]):
    """cents of the shop's currency"""

    cache_ok = True
    kind = Money


class AmountColumn(QuantityColumn[Amount]):
    """thousandths of the unit that the thing is counted in"""

    cache_ok = True
    kind = Amount


class TemperatureColumn(TypeDecorator[Temperature]):
    """thousandths of a degree Celsius"""

    impl = BigInteger
    cache_ok = True

    def process_bind_param(self, value: Temperature | None, dialect: Dialect) -> int | None:
        if value is not None and type(value) is not Temperature:
            raise TypeError(f"Temperature expected, not {type(value).__name__}")
        return None if value is None else value.millidegrees

    def process_result_value(self, value: int | None, dialect: Dialect) -> Temperature | None:
        return None if value is None else Temperature(value)


class DayColumn(TypeDecorator[str]):
    """A calendar day. The attribute is an ISO date text, as in the domain; an empty one is kept as
    none and comes back as ``empty``."""

    impl = Date
    cache_ok = True

    def __init__(self, empty: str | None = None) -> None:
        super().__init__()
        self.empty = empty

    def process_bind_param(self, value: str | None, dialect: Dialect) -> date | None:
        return date.fromisoformat(value) if value else None

    def process_result_value(self, value: date | None, dialect: Dialect) -> str | None:
        return self.empty if value is None else value.isoformat()


class InstantColumn(TypeDecorator[datetime]):
    """A moment, kept in UTC; a moment without a zone is refused."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is not None and value.tzinfo is None:
            raise ValueError("a moment needs its zone")
        return None if value is None else value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        return None if value is None else value.replace(tzinfo=UTC)


class JsonOf(TypeDecorator[Any]):
    """A small owned value (a list of segments, a composition) as JSON text, validated both ways.

    Values are replaced whole, never changed in place.
    """

    impl = Text
    cache_ok = True

    def __init__(self, kind: Any) -> None:
        super().__init__()
        self.kind = kind

    @property
    def adapter(self) -> TypeAdapter[Any]:
        return _adapter(self.kind)

    def process_bind_param(self, value: Any, dialect: Dialect) -> str | None:
        if value is None:
            return None
        return self.adapter.dump_json(self.adapter.validate_python(value)).decode()

    def process_result_value(self, value: str | None, dialect: Dialect) -> Any:
        return None if value is None else self.adapter.validate_json(value)


_adapters: dict[Any, TypeAdapter[Any]] = {}


def _adapter(kind: Any) -> TypeAdapter[Any]:
    if kind not in _adapters:
        _adapters[kind] = TypeAdapter(kind)
    return _adapters[kind]


def one_of(kind: type[E]) -> Enum:
    """A text column that the database itself holds to the enum's values."""

    def texts(members: type[E]) -> list[str]:
        return [member.value for member in members]

    return Enum(kind, native_enum=False, create_constraint=True, values_callable=texts, length=40, name=kind.__name__.lower())


def kept(column_type: Any, **options: Any) -> Any:
    """A table field with a column type of ours. Table rows are validated before they are made."""
    return Field(sa_type=column_type, **options)


def checks(**rules: str) -> tuple[CheckConstraint, ...]:
    """CHECK constraints by name."""
    return tuple(CheckConstraint(rule, name=name) for name, rule in rules.items())


def at_least(least: int, *columns: str) -> tuple[CheckConstraint, ...]:
    """Each column is ``least`` or more (or empty)."""
    return checks(**{f"{column}_at_least_{least}": f"{column} >= {least}" for column in columns})


def utc_now() -> datetime:
    """When that happened which is being written down."""
    return happened()
