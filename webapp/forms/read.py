"""From what was typed to a value, or to messages that stand beside the fields."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from domain.errors import InvalidValue
from domain.saying import say
from webapp.exchange.document import Document
from webapp.forms.durations import read_minutes, read_time
from webapp.forms.measures import read_quantity
from webapp.forms.shapes import Kind, Shape, shapes_of

MOST_ROWS = 200


@dataclass(frozen=True, slots=True)
class FormRead:
    """``value``: the domain value, none where something is wrong. ``errors``: messages by field name;
    under the empty name what concerns the form as a whole."""

    value: Any
    errors: Mapping[str, str]


def read_form(document: type[Document[Any]], typed: Mapping[str, str], extra: Mapping[str, Any]) -> FormRead:
    """Reads the form of ``document``; ``extra`` gives the fields that are not typed (id, sources)."""
    data, places = _Reading(typed).group(document, "")
    known = {name: value for name, value in extra.items() if name in document.model_fields}
    try:
        return FormRead(document.model_validate({**data, **known}).to_domain(), {})
    except ValidationError as error:
        return FormRead(None, _messages(error.errors(), places))


class _Reading:
    """Builds plain data, and remembers which field each path of the data was typed in."""

    def __init__(self, typed: Mapping[str, str]) -> None:
        self.typed = {name: text.strip() for name, text in typed.items()}
        self.places: dict[tuple[str, ...], str] = {}

    def group(
        self, document: type[Document[Any]], prefix: str, path: tuple[str, ...] = ()
    ) -> tuple[dict[str, Any], dict[tuple[str, ...], str]]:
        data: dict[str, Any] = {}
        for name, shape in shapes_of(document).items():
            value = self._value(shape, prefix + name, (*path, name))
            if value is not None or shape.kind in (Kind.GROUP, Kind.CHOICE) or shape.optional:
                data[name] = value
            elif document.model_fields[name].is_required():
                data[name] = ""
        return data, self.places

    def _value(self, shape: Shape, name: str, path: tuple[str, ...]) -> Any:
        self.places[path] = name
        match shape.kind:
            case Kind.GROUP:
                return self._group(shape, name, path)
            case Kind.ROWS:
                return self._rows(shape, name, path)
            case Kind.PAIRS:
                return self._pairs(shape, name, path)
            case Kind.FIXED:
                assert shape.keys is not None
                assert shape.inner is not None
                return {str(key): self._value(shape.inner, f"{name}.{key}", (*path, str(key))) for key in shape.keys}
            case Kind.SET:
                chosen = (key.removeprefix(f"{name}.") for key, text in self.typed.items() if key.startswith(f"{name}.") and text)
                return sorted(chosen)
            case _:
                return _plain(shape, self.typed.get(name, ""))

    def _group(self, shape: Shape, name: str, path: tuple[str, ...]) -> Any:
        assert shape.document is not None
        if shape.optional and not self._anything(f"{name}."):
            return None
        return self.group(shape.document, f"{name}.", path)[0]

    def _rows(self, shape: Shape, name: str, path: tuple[str, ...]) -> list[Any]:
        assert shape.document is not None
        rows: list[Any] = []
        for index in self.filled(name):
            rows.append(self.group(shape.document, f"{name}.{index}.", (*path, str(len(rows))))[0])
        return rows

    def _pairs(self, shape: Shape, name: str, path: tuple[str, ...]) -> dict[str, Any]:
        assert shape.inner is not None
        pairs: dict[str, Any] = {}
        for index in self.filled(name):
            key = self.typed.get(f"{name}.{index}.key", "")
            value = self._value(shape.inner, f"{name}.{index}.value", (*path, key))
            pairs[key] = value
        return pairs

    def filled(self, name: str) -> list[int]:
        """The numbers of the rows in which anything is typed. An emptied row is a removed row."""
        pattern = re.compile(re.escape(name) + r"\.(\d{1,3})\..+")
        matches = ((pattern.fullmatch(key), text) for key, text in self.typed.items())
        return sorted({int(match[1]) for match, text in matches if match and text and int(match[1]) < MOST_ROWS})

    def _anything(self, prefix: str) -> bool:
        return any(text for key, text in self.typed.items() if key.startswith(prefix))


def _plain(shape: Shape, text: str) -> Any:
    """What the document's own check gets. A text that cannot be read is passed on, to be refused there."""
    match shape.kind:
        case Kind.FLAG:
            return bool(text)
        case Kind.LINES:
            return [line.strip() for line in text.splitlines() if line.strip()]
        case Kind.MINUTES:
            minutes = read_minutes(text)
            return text or None if minutes is None else minutes
        case Kind.TIME:
            minute = read_time(text)
            return text or None if minute is None else minute
        case Kind.QUANTITY:
            return _quantity(shape, text) if text else None
        case Kind.TEXT | Kind.LONG | Kind.DAY:
            return None if shape.nullable and not text else text
        case _:
            return text or None


def _quantity(shape: Shape, text: str) -> Any:
    assert shape.measure is not None
    try:
        return read_quantity(shape.measure, text)
    except InvalidValue:
        return text


def _messages(errors: list[ErrorDetails], places: Mapping[tuple[str, ...], str]) -> dict[str, str]:
    messages: dict[str, str] = {}
    for error in errors:
        path = tuple(str(part) for part in error["loc"] if part != "[key]")
        if error["type"] == "too_short" and any(
            len(e["loc"]) > len(path) and e["loc"][: len(path)] == error["loc"] for e in errors
        ):
            continue  # rows are there, but wrong: their own messages say it
        place = _place(path, places)
        message = _worded(error)
        messages[place] = say("{first}; {second}", first=messages[place], second=message) if place in messages else message
    return messages


def _place(path: tuple[str, ...], places: Mapping[tuple[str, ...], str]) -> str:
    """The field of a path, or of the nearest path above it that is a field."""
    while path and path not in places:
        path = path[:-1]
    return places.get(path, "")


def _worded(error: ErrorDetails) -> str:
    limits = error.get("ctx", {})
    match error["type"]:
        case "int_parsing" | "int_type" | "int_from_float":
            return say("type a whole number, such as 6") if error.get("input") else say("must be filled in")
        case "string_type" | "missing" | "enum" | "model_attributes_type" | "dict_type":
            return say("must be filled in") if not error.get("input") else say("is not one of the list")
        case "greater_than_equal":
            return say("must not be less than {limit}", limit=limits.get("ge"))
        case "less_than_equal":
            return say("must not be more than {limit}", limit=limits.get("le"))
        case "string_too_long":
            return say("is too long: at most {most} letters", most=limits.get("max_length"))
        case "too_short":
            return say("needs at least one row")
        case _:
            return say("must be filled in") if error.get("input") == "" else error["msg"]
