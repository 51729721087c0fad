"""What the template of a form shows: inputs, groups of inputs, and rows of groups."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeAlias

from domain.saying import say
from domain.sources import Source
from webapp.exchange.document import Document
from webapp.forms.labels import heads_of, hint_of, label_of
from webapp.forms.measures import unit_of
from webapp.forms.options import word_of
from webapp.forms.shapes import Choice, Choices, Kind, Shape, shapes_of

SPARE_ROWS = 2
"""Empty rows at the end of each list, so that rows can be added without script."""
ROOM = {"shifts": 7, "segments": 6}
"""Lists that start with more room."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """``kind`` chooses the control; ``source``: where the value comes from, as text.
    ``nothing``: the word for leaving an optional choice open."""

    name: str
    label: str
    hint: str
    kind: str
    text: str = ""
    error: str = ""
    options: tuple[Choice, ...] = ()
    chosen: frozenset[str] = frozenset()
    optional: bool = False
    nothing: str = say("none")
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    name: str
    label: str
    hint: str
    items: tuple[Item, ...]
    error: str = ""
    source: str = ""
    kind: str = "group"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rows:
    """``heads``: labels of the columns."""

    name: str
    label: str
    hint: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Input, ...], ...]
    error: str = ""
    source: str = ""
    kind: str = "rows"


OPENED = "opened"
"""the hidden field of a form that says what it showed when it was opened"""

Item: TypeAlias = "Input | Group | Rows"


@dataclass(frozen=True, slots=True, kw_only=True)
class Differs:
    """A field that somebody else changed meanwhile: as it was ``opened``, ``theirs`` as it is saved now, and ``yours``
    as the form has it. ``both``: it was changed here too."""

    label: str
    opened: str
    theirs: str
    yours: str
    both: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """``error``: what is wrong with the form as a whole. ``wrong``: how many fields are. ``opened``: what it showed
    when it was opened, sent along to tell what was changed here. ``met``: what somebody else changed meanwhile."""

    items: tuple[Item, ...]
    error: str = ""
    wrong: int = 0
    opened: str = ""
    met: tuple[Differs, ...] = ()


def form_of(
    document: type[Document[Any]],
    typed: Mapping[str, str],
    errors: Mapping[str, str] | None = None,
    choices: Choices | None = None,
    sources: Mapping[str, Source] | None = None,
    leave_out: frozenset[str] = frozenset(),
) -> Form:
    """The form of a document with these texts and messages; ``leave_out`` names fields not shown."""
    build = _Build(typed, errors or {}, choices or {}, sources or {})
    items = tuple(item for name, item in build.fields(document, "") if name not in leave_out)
    return Form(items=items, error=(errors or {}).get("", ""), wrong=len(errors or {}), opened=typed.get(OPENED, ""))


def _unit(shape: Shape) -> str:
    return unit_of(shape.measure) if shape.measure else ""


class _Build:
    def __init__(
        self, typed: Mapping[str, str], errors: Mapping[str, str], choices: Choices, sources: Mapping[str, Source]
    ) -> None:
        self.typed, self.errors, self.choices, self.sources = typed, errors, choices, sources

    def fields(self, document: type[Document[Any]], prefix: str) -> list[tuple[str, Item]]:
        about = {name: field.description or "" for name, field in document.model_fields.items()}
        return [
            (name, self.item(shape, prefix + name, label_of(name), hint_of(name, about[name], _unit(shape))))
            for name, shape in shapes_of(document).items()
        ]

    def item(self, shape: Shape, name: str, label: str, hint: str) -> Item:
        match shape.kind:
            case Kind.GROUP:
                assert shape.document is not None
                items = tuple(item for _, item in self.fields(shape.document, f"{name}."))
                return self._group(name, label, hint, items)
            case Kind.FIXED:
                assert shape.keys is not None
                assert shape.inner is not None
                inner = shape.inner
                return self._group(
                    name, label, hint, tuple(self.item(inner, f"{name}.{key}", word_of(key), "") for key in shape.keys)
                )
            case Kind.ROWS:
                return self._rows(shape, name, label, hint)
            case Kind.PAIRS:
                return self._pairs(shape, name, label, hint)
            case _:
                return self._input(shape, name, label, hint)

    def _group(self, name: str, label: str, hint: str, items: tuple[Item, ...]) -> Group:
        return Group(name=name, label=label, hint=hint, items=items, error=self.errors.get(name, ""), source=self._source(name))

    def _rows(self, shape: Shape, name: str, label: str, hint: str) -> Rows:
        assert shape.document is not None
        document = shape.document
        rows = tuple(
            tuple(item for _, item in self.fields(document, f"{name}.{index}.") if isinstance(item, Input))
            for index in range(max(ROOM.get(name, 0), self._last_row(name) + 1 + SPARE_ROWS))
        )
        return self._table(name, label, hint, tuple(label_of(field) for field in shapes_of(document)), rows)

    def _pairs(self, shape: Shape, name: str, label: str, hint: str) -> Rows:
        assert shape.inner is not None
        inner = shape.inner
        key = Shape(kind=Kind.TEXT, optional=True)
        rows = []
        for index in range(self._last_row(name) + 1 + SPARE_ROWS):
            value = self.item(inner, f"{name}.{index}.value", say("value"), "")
            assert isinstance(value, Input)
            rows.append((self._input(key, f"{name}.{index}.key", say("which"), ""), value))
        return self._table(name, label, hint, heads_of(name), tuple(rows))

    def _table(self, name: str, label: str, hint: str, heads: tuple[str, ...], rows: tuple[tuple[Input, ...], ...]) -> Rows:
        error = self.errors.get(name, "")
        return Rows(name=name, label=label, hint=hint, heads=heads, rows=rows, error=error, source=self._source(name))

    def _last_row(self, name: str) -> int:
        pattern = re.compile(re.escape(name) + r"\.(\d{1,3})\..+")
        found = (pattern.fullmatch(key) for key, text in self.typed.items() if text.strip())
        return max((int(match[1]) for match in found if match), default=-1)

    def _input(self, shape: Shape, name: str, label: str, hint: str) -> Input:
        options = self._options(shape, name)
        return Input(
            name=name,
            label=label,
            hint=hint,
            kind="choice" if options and shape.kind is Kind.TEXT else shape.kind.value,
            text=self.typed.get(name, ""),
            error=self.errors.get(name, ""),
            options=options,
            chosen=frozenset(value for value, _ in options if self.typed.get(f"{name}.{value}")),
            optional=shape.optional,
            source=self._source(name),
        )

    def _options(self, shape: Shape, name: str) -> tuple[Choice, ...]:
        if shape.keys is not None:
            return tuple((str(key), word_of(key)) for key in shape.keys)
        if shape.kind not in (Kind.TEXT, Kind.SET):
            return ()
        return self.choices.get(re.sub(r"\.\d+\.key$", "", name), ())

    def _source(self, name: str) -> str:
        source = self.sources.get(name)
        return "" if source is None else str(source)
