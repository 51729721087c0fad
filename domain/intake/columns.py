"""Which column holds what, by its heading."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from enum import StrEnum
from typing import TypeAlias

from domain.intake.typed import DENSITY_WORDS, LENGTH_WORDS, MASS_WORDS, TWO_READINGS, VOLUME_WORDS
from domain.intake.words import meanings, plain, words
from domain.saying import say


class Field(StrEnum):
    """What a column of a job list can hold."""

    JOB = "job"
    CUSTOMER = "customer"
    ITEM = "item"
    ALLOY = "alloy"
    COLOUR = "colour"
    QUANTITY = "quantity"
    PATTERN_MASS = "pattern_mass"
    METAL_VOLUME = "metal_volume"
    SIZE = "size"
    SIZE_FIRST = "size_first"
    SIZE_SECOND = "size_second"
    SIZE_THIRD = "size_third"
    DUE = "due"
    READY = "ready"
    NOTES = "notes"
    MATERIAL = "material"
    SECTION = "section"
    RUSH = "rush"


FIELD_LABELS: dict[Field, str] = {
    Field.JOB: say("job number"),
    Field.CUSTOMER: say("customer"),
    Field.ITEM: say("item"),
    Field.ALLOY: say("alloy"),
    Field.COLOUR: say("alloy's colour"),
    Field.QUANTITY: say("quantity"),
    Field.PATTERN_MASS: say("pattern's weight"),
    Field.METAL_VOLUME: say("piece's volume"),
    Field.SIZE: say("size"),
    Field.SIZE_FIRST: say("size, first number"),
    Field.SIZE_SECOND: say("size, second number"),
    Field.SIZE_THIRD: say("size, third number"),
    Field.DUE: say("due date"),
    Field.READY: say("patterns ready"),
    Field.NOTES: say("notes"),
    Field.MATERIAL: say("pattern material"),
    Field.SECTION: say("section"),
    Field.RUSH: say("rush"),
}

Columns: TypeAlias = Mapping[Field, int]
"""Field → index of its column. Columns that no field takes are kept with the notes."""

UNUSED = ""
"""In a remembered mapping: a heading that is deliberately no field's."""


EITHER = "material"
"""A heading that means the metal in some shops and the pattern's material in others."""


def heading_key(heading: str) -> str:
    """What a heading is remembered by."""
    return plain(heading.replace("#", " no "))


def heading_unit(heading: str) -> str:
    """The unit that a heading names: ``Wax wt (g)``, ``Size [mm]``, ``Gewicht g``; empty if none."""
    known = {*MASS_WORDS, *LENGTH_WORDS, *VOLUME_WORDS, *TWO_READINGS} - set(DENSITY_WORDS)
    inside = re.search(r"[(\[]\s*(?:in\s+)?([^)\]]+?)\s*[)\]]", heading)
    last = heading.lower().split()[-1:] if len(heading.split()) > 1 else []
    for word in ([inside.group(1).lower()] if inside else []) + last:
        if word.replace("³", "3") in known:
            return word.replace("³", "3")
    return ""


def field_of(heading: str) -> tuple[Field | None, int]:
    """The field that a heading names and how well (2 exactly, 1 with other words around it)."""
    bare = heading_key(re.sub(r"[(\[][^)\]]*[)\]]", " ", heading))
    known = meanings("headings")
    unit = heading_unit(heading)
    for text, fit in ((heading_key(heading), 2), (bare, 2), (bare.removesuffix(f" {unit}"), 2), (_without_filler(bare), 1)):
        if text in known:
            return Field(known[text]), 1 if text == EITHER else fit
    return _of_parts(heading)


def _of_parts(heading: str) -> tuple[Field | None, int]:
    """``Metal / Alloy``: what all its parts name."""
    parts = [heading_key(part) for part in re.split(r"[/|&,]", heading)]
    named = {meanings("headings").get(part) for part in parts}
    found = named.pop() if len(parts) > 1 and len(named) == 1 else None
    return (Field(found), 1) if found else (None, 0)


def _without_filler(text: str) -> str:
    filler = {*words("heading_filler"), *MASS_WORDS, *LENGTH_WORDS}
    return " ".join(word for word in text.split() if word not in filler)


def known_headings(cells: Sequence[str]) -> int:
    """How many different fields the cells name."""
    fields = {Field.ITEM if _may_be_item(cell) else field_of(cell)[0] for cell in cells}
    return len(fields - {None})


def best_known(records: Sequence[Sequence[str]]) -> int:
    """The most fields that any of the first rows names; one alone may be chance."""
    most = max((known_headings(r) for r in _first_rows(records)), default=0)
    return most if most > 1 else 0


def heading_row(records: Sequence[Sequence[str]]) -> int | None:
    """The number of the row that holds the headings, among the first ten that are not blank."""
    most = best_known(records)
    if not most:
        return None
    return next(n for n, r in enumerate(records, start=1) if known_headings(r) == most)


def _first_rows(records: Sequence[Sequence[str]]) -> list[Sequence[str]]:
    return [r for r in records if any(r)][:10]


def guess_columns(headings: Sequence[str], remembered: Mapping[str, str] | None = None) -> dict[Field, int]:
    """Field → column. What was ``remembered`` for a heading (a field's name, or ``UNUSED``) goes
    before what its words say; a field named twice goes to the better fit, then to the first."""
    said = remembered or {}
    found: dict[Field, tuple[int, int]] = {}
    for index, heading in enumerate(headings):
        field, fit = _field_and_fit(heading, said)
        if field is not None and fit > found.get(field, (-1, 0))[1]:
            found[field] = (index, fit)
    columns = {field: index for field, (index, _) in found.items()}
    return _with_colour(headings, _with_either(headings, _with_name(headings, said, columns)))


def _may_be_item(heading: str) -> bool:
    return heading_key(heading) in words("name_headings")


def _with_name(headings: Sequence[str], said: Mapping[str, str], columns: dict[Field, int]) -> dict[Field, int]:
    """A bare “name” is the item's where no other column is."""
    index = next((n for n, h in enumerate(headings) if _may_be_item(h) and heading_key(h) not in said), None)
    if index is not None:
        columns.setdefault(Field.ITEM, index)
    return columns


def _with_colour(headings: Sequence[str], columns: dict[Field, int]) -> dict[Field, int]:
    """A column of colours is the alloy's where the alloy's own column holds only the karat; elsewhere
    it may be the colour of stones or of a finish."""
    alloy = columns.get(Field.ALLOY)
    if alloy is not None and heading_key(headings[alloy]) in words("karat_headings"):
        index = next((n for n, h in enumerate(headings) if heading_key(h) in words("colour_headings")), None)
        if index is not None and index not in columns.values():
            columns.setdefault(Field.COLOUR, index)
    return columns


def _with_either(headings: Sequence[str], columns: dict[Field, int]) -> dict[Field, int]:
    """Where another column holds the metal, “material” is the pattern's."""
    index = next((n for n, h in enumerate(headings) if heading_key(h) == EITHER), None)
    if index is not None and index not in columns.values():
        columns.setdefault(Field.MATERIAL, index)
    return columns


def _field_and_fit(heading: str, said: Mapping[str, str]) -> tuple[Field | None, int]:
    known = said.get(heading_key(heading))
    if known is None:
        return field_of(heading)
    return (Field(known), 3) if known in set(Field) else (None, 0)
