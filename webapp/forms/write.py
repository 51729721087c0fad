"""From a value that is there to the texts that its form shows."""

from __future__ import annotations

from typing import Any

from webapp.exchange.document import Document
from webapp.formats import time_of_day
from webapp.forms.durations import minutes_text
from webapp.forms.measures import quantity_text
from webapp.forms.shapes import Kind, Shape, shapes_of


def typed_from(document: type[Document[Any]], value: Any) -> dict[str, str]:
    """The form's texts, by field name; nested names are joined by dots."""
    typed: dict[str, str] = {}
    _write_group(document, "", value, typed)
    return typed


def _write_group(document: type[Document[Any]], prefix: str, value: Any, typed: dict[str, str]) -> None:
    for name, shape in shapes_of(document).items():
        _write(shape, prefix + name, getattr(value, name), typed)


def _write(shape: Shape, name: str, value: Any, typed: dict[str, str]) -> None:
    if value is None:
        return
    match shape.kind:
        case Kind.GROUP:
            assert shape.document is not None
            _write_group(shape.document, f"{name}.", value, typed)
        case Kind.ROWS:
            assert shape.document is not None
            for index, row in enumerate(value):
                _write_group(shape.document, f"{name}.{index}.", row, typed)
        case Kind.PAIRS:
            assert shape.inner is not None
            for index, (key, item) in enumerate(value.items()):
                typed[f"{name}.{index}.key"] = str(key)
                _write(shape.inner, f"{name}.{index}.value", item, typed)
        case Kind.FIXED:
            assert shape.inner is not None
            for key, item in value.items():
                _write(shape.inner, f"{name}.{key}", item, typed)
        case Kind.SET:
            typed.update({f"{name}.{item}": "on" for item in value})
        case _:
            typed[name] = _text(shape, value)


def _text(shape: Shape, value: Any) -> str:
    match shape.kind:
        case Kind.QUANTITY:
            assert shape.measure is not None
            return quantity_text(shape.measure, value)
        case Kind.FLAG:
            return "on" if value else ""
        case Kind.MINUTES:
            return minutes_text(value)
        case Kind.TIME:
            return time_of_day(value)
        case Kind.LINES:
            return "\n".join(value)
        case _:
            return str(value)
