"""Between rows and domain values: field names are equal, so one function serves all tables."""

from __future__ import annotations

from dataclasses import fields
from typing import Any, TypeVar, get_type_hints

from domain.shop.lots import Lot
from domain.shop.pattern import PieceSize
from domain.units import Mass, TemperatureRange
from webapp.store.tables import LotRow, Table

D = TypeVar("D")
R = TypeVar("R", bound=Table)

FLATTENED = (PieceSize, TemperatureRange)
"""Small values that a table keeps as one column for each of their fields: ``size`` → ``size_width``…"""


_layouts: dict[Any, tuple[tuple[str, type[Any] | None], ...]] = {}


def _layout(kind: Any) -> tuple[tuple[str, type[Any] | None], ...]:
    """Each field's name, and its class where it is flattened. Worked out once: a list has many rows."""
    if kind not in _layouts:
        hints = get_type_hints(kind)
        _layouts[kind] = tuple((f.name, hints[f.name] if hints[f.name] in FLATTENED else None) for f in fields(kind))
    return _layouts[kind]


def to_domain(row: Table, kind: type[D]) -> D:
    """The domain value of a row. Raises ``DomainError`` where the row breaks a rule of the trade."""
    values: dict[str, Any] = {}
    for name, flat in _layout(kind):
        if flat is None:
            values[name] = getattr(row, name)
        else:
            values[name] = flat(**{part.name: getattr(row, f"{name}_{part.name}") for part in fields(flat)})
    if isinstance(row, LotRow) and row.arrives:
        values["mass"] = row.ordered
    return kind(**values)


def values_of(entity: Any) -> dict[str, Any]:
    """The row's values of a domain value."""
    values: dict[str, Any] = {}
    for name, flat in _layout(type(entity)):
        value = getattr(entity, name)
        if flat is None:
            values[name] = value
        else:
            values.update({f"{name}_{part.name}": getattr(value, part.name) for part in fields(flat)})
    return values | _where(entity) if isinstance(entity, Lot) else values


def _where(lot: Lot) -> dict[str, Mass]:
    """Metal on its way is not in the house: its mass is what was ordered."""
    return {"mass": Mass(0), "ordered": lot.mass} if lot.arrives else {"ordered": Mass(0)}


def new_row(table: type[R], entity: Any) -> R:
    return table(**values_of(entity))


def copy_into(row: Table, entity: Any) -> None:
    """Change a row to a domain value, touching only what differs."""
    for name, value in values_of(entity).items():
        if getattr(row, name) != value:
            setattr(row, name, value)
