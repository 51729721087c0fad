"""What kind of field a document's annotation calls for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cache
from types import UnionType
from typing import Annotated, Any, TypeAlias, Union, get_args, get_origin

from webapp.exchange.document import Document
from webapp.exchange.fields import Measure

Choice: TypeAlias = tuple[str, str]
"""What is sent, and what people read."""
Choices: TypeAlias = Mapping[str, tuple[Choice, ...]]
"""For fields that name something else of the shop: by field name, what may be named."""


class Kind(StrEnum):
    TEXT = "text"
    LONG = "long"
    WHOLE = "whole"
    MINUTES = "minutes"
    TIME = "time"
    DAY = "day"
    FLAG = "flag"
    QUANTITY = "quantity"
    CHOICE = "choice"
    SET = "set"
    LINES = "lines"
    GROUP = "group"
    ROWS = "rows"
    PAIRS = "pairs"
    FIXED = "fixed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """``keys``: the enum of a table with fixed keys, of a choice or of a set. ``inner``: the shape of
    what a list or table holds. ``document``: of a group or of rows. ``optional``: may be left empty;
    ``nullable``: and is none then, not an empty text."""

    kind: Kind
    optional: bool = False
    nullable: bool = False
    measure: Measure[Any] | None = None
    keys: type[StrEnum] | None = None
    inner: Shape | None = None
    document: type[Document[Any]] | None = None


DAYS = frozenset({"day", "ready", "due", "first", "last", "since", "arrives"})
TIMES = frozenset({"opens", "closes"})
LONG = frozenset({"notes", "note"})


@cache
def shapes_of(document: type[Document[Any]]) -> dict[str, Shape]:
    """The shape of each field of a document, in its order; its id and its sources are no fields."""
    return {
        name: _shape(name, field.annotation, tuple(field.metadata))
        for name, field in document.model_fields.items()
        if name not in {"id", "sources"}
    }


def measure_of(document: type[Document[Any]], name: str) -> Measure[Any]:
    """Of a field that holds an amount."""
    measure = shapes_of(document)[name].measure
    assert measure is not None
    return measure


def _shape(name: str, annotation: Any, metadata: tuple[Any, ...]) -> Shape:
    origin, arguments = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        return _shape(name, arguments[0], (*metadata, *arguments[1:]))
    if origin in (Union, UnionType):
        (inner,) = (a for a in arguments if a is not type(None))
        return replace(_shape(name, inner, metadata), optional=True, nullable=True)
    if origin is tuple:
        return _list(name, arguments[0])
    if origin is frozenset:
        return Shape(kind=Kind.SET, keys=_enum(_bare(arguments[0])), optional=True)
    if origin is dict:
        return _table(name, arguments[0], arguments[1])
    return _single(name, annotation, metadata)


def _list(name: str, item: Any) -> Shape:
    inner = _shape(name, item, ())
    if inner.kind is Kind.GROUP:
        return Shape(kind=Kind.ROWS, document=inner.document, optional=True)
    return Shape(kind=Kind.LINES, inner=inner, optional=True)


def _table(name: str, key: Any, value: Any) -> Shape:
    keys, inner = _enum(_bare(key)), _shape(name, value, ())
    if keys is None:
        return Shape(kind=Kind.PAIRS, inner=inner, optional=True)
    return Shape(kind=Kind.FIXED, keys=keys, inner=inner)


def _single(name: str, annotation: Any, metadata: tuple[Any, ...]) -> Shape:
    measure = next((m for m in metadata if isinstance(m, Measure)), None)
    if measure is not None:
        return Shape(kind=Kind.QUANTITY, measure=measure)
    if isinstance(annotation, type) and issubclass(annotation, Document):
        return Shape(kind=Kind.GROUP, document=annotation)
    if annotation is bool:
        return Shape(kind=Kind.FLAG, optional=True)
    if annotation is int:
        return Shape(kind=_whole_kind(name))
    if _enum(annotation) is not None:
        return Shape(kind=Kind.CHOICE, keys=_enum(annotation))
    if name in DAYS:
        return Shape(kind=Kind.DAY, optional=name == "since")
    return Shape(kind=Kind.LONG if name in LONG else Kind.TEXT, optional=name in LONG)


def _whole_kind(name: str) -> Kind:
    if name in TIMES:
        return Kind.TIME
    return Kind.MINUTES if name.startswith("minutes") or name.endswith("_minutes") else Kind.WHOLE


def _enum(annotation: Any) -> type[StrEnum] | None:
    return annotation if isinstance(annotation, type) and issubclass(annotation, StrEnum) else None


def _bare(annotation: Any) -> Any:
    return get_args(annotation)[0] if get_origin(annotation) is Annotated else annotation
