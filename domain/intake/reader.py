"""One row of a list → the draft of a job, with what it asks and what is wrong with it."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TypeVar

from domain.errors import InvalidValue
from domain.intake.alloys import read_alloy
from domain.intake.columns import Columns, Field, heading_unit
from domain.intake.dates import DateReader, forms_of, hoped, hoped_date
from domain.intake.draft import Draft, Vocabulary
from domain.intake.materials import read_material, read_section
from domain.intake.numbers import Reading
from domain.intake.plausible import check_against_box
from domain.intake.questions import Answers, Findings, Form, Problem, Question, choose, unit_answer
from domain.intake.sizes import EXAMPLE, SIZE_ORDERS, Three, box, read_size
from domain.intake.table import Cells
from domain.intake.typed import LENGTH_WORDS, VOLUME_WORDS, read_count, read_mass, read_volume
from domain.intake.words import meanings, plain, says
from domain.metallurgy.alloy import Section
from domain.units import Mass, Volume

_FAR_AHEAD = timedelta(days=730)
T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class ListReader:
    """Reads the rows of one list: its columns, the units in its headings, its decimal mark, its dates."""

    headings: Cells
    columns: Columns
    answers: Answers
    vocabulary: Vocabulary
    choices: Mapping[str, str]
    dates: DateReader

    @classmethod
    def of(
        cls, headings: Cells, records: Sequence[Cells], columns: Columns, answers: Answers, vocabulary: Vocabulary
    ) -> ListReader:
        dated = [r[columns[f]] for r in records for f in (Field.DUE, Field.READY) if f in columns and columns[f] < len(r)]
        return cls(
            headings=headings,
            columns=columns,
            answers=answers,
            vocabulary=vocabulary,
            choices=_with_decimal_mark(answers, records),
            dates=DateReader(vocabulary.today, forms_of(dated), answers),
        )

    def draft(self, cells: Cells, found: Findings) -> Draft | None:
        """The draft, where nothing is asked and nothing wrong; what is goes to ``found``."""
        if any(cells[len(self.headings) :]):
            counts = f"this row has {len(cells)} cells, the headings {len(self.headings)}"
            message = f"{counts}: put quotes around a text that holds the delimiter"
            found.problems.append(Problem("", message))
            return None
        return RowReader(self, cells, found).draft()


def _with_decimal_mark(answers: Answers, records: Sequence[Cells]) -> dict[str, str]:
    """Where the list holds decimal commas, a point before three digits may part thousands: ask."""
    commas = re.compile(r"(?<![0-9.,])(?:[0-9]+,(?:[0-9]{1,2}|[0-9]{4,})|0,[0-9]+)(?![0-9.,])")
    choices = dict(answers)
    if "decimal" not in choices and any(commas.search(cell) for record in records for cell in record):
        choices["decimal"] = "ask"
    return choices


class RowReader:
    """Reads one row. Each part is read even where another fails, so that all of it is shown at once."""

    def __init__(self, reader: ListReader, cells: Cells, found: Findings) -> None:
        self._list = reader
        self._cells = cells
        self._found = found
        self._answers = reader.answers
        self._note = self.cell(Field.NOTES)

    def cell(self, field: Field) -> str:
        """What the row says in a field's column; empty where there is none."""
        index = self._list.columns.get(field)
        return self._cells[index] if index is not None and index < len(self._cells) else ""

    def _read(self, field: Field, read: Callable[[], T], text: str | None = None) -> T | None:
        return self._found.attempt(field, self.cell(field) if text is None else text, read)

    def draft(self) -> Draft | None:
        alloy = self._read(Field.ALLOY, self._alloy)
        quantity = self._read(Field.QUANTITY, self._quantity)
        metal = self._read(Field.PATTERN_MASS, self._metal)
        lengths = self._read(Field.SIZE, self._lengths)
        due = self._read(Field.DUE, self._due)
        ready = self._read(Field.READY, self._ready)
        weight = self._weight()
        material = self._read(Field.MATERIAL, self._material, self._material_text())
        section = self._read(Field.SECTION, self._section)
        held = self._read(Field.NOTES, self._held)
        size = box(lengths, self._size_order()) if lengths else None
        if metal and lengths and self.cell(Field.SIZE):
            self._read(
                Field.PATTERN_MASS, lambda: check_against_box(metal, lengths, self._list.vocabulary.materials, self._answers)
            )
        if not self._found.clean:
            return None
        if alloy is None or quantity is None or metal is None or size is None or due is None or ready is None:
            return None
        if weight is None or material is None or section is None or held is None:
            return None
        return Draft(
            customer=self.cell(Field.CUSTOMER),
            item=self.cell(Field.ITEM) or "piece",
            alloy=alloy,
            quantity=quantity,
            weighed=metal if isinstance(metal, Mass) else None,
            volume=metal if isinstance(metal, Volume) else None,
            size=size,
            due=due,
            ready=ready,
            ready_typed=bool(self.cell(Field.READY)),
            material=material,
            section=section,
            weight=weight,
            may_split=not says(self._note, "notes", "together"),
            own_metal=self._own_metal,
            own_lots=self._list.vocabulary.own_lots,
            held=held,
            notes=self._notes(),
        )

    def _alloy(self) -> str:
        text = self.cell(Field.ALLOY)
        if not text:
            raise InvalidValue(Field.ALLOY, "no alloy; type one that this shop casts")
        return read_alloy(text, self._list.vocabulary.alloys, self._answers)

    def _quantity(self) -> int:
        if Field.QUANTITY in self._list.columns:
            return read_count(self.cell(Field.QUANTITY), choices=self._list.choices)
        text = "No column says how many pieces a job has: every job of this list has …"
        return int(choose(Question(kind="quantity:missing", text=text, form=Form.NUMBER), self._answers, Field.QUANTITY))

    def _metal(self) -> Mass | Volume:
        weight, volume = self.cell(Field.PATTERN_MASS), self.cell(Field.METAL_VOLUME)
        if weight and volume:
            return self._weight_or_volume(weight, volume)
        if not weight and not volume:
            raise InvalidValue(
                Field.PATTERN_MASS, "no weight of the pattern; type one such as 3.97 g, or the model's volume such as cad 480 mm3"
            )
        return self._weighed(weight) if weight else self._volume(volume)

    def _weight_or_volume(self, weight: str, volume: str) -> Mass | Volume:
        readings = (Reading("weight", "the pattern's weight"), Reading("volume", "the piece's volume"))
        question = Question(
            kind="weight-or-volume", text="Where a row gives both, the metal is worked out from …", readings=readings
        )
        said = choose(question, self._answers, Field.PATTERN_MASS)
        return self._weighed(weight) if said == "weight" else self._volume(volume)

    def _weighed(self, text: str) -> Mass | Volume:
        if _is_volume(text):
            return self._volume(text)
        bare = _with_unit(_without_material(text), self._heading_unit(Field.PATTERN_MASS))
        mass = read_mass(bare, unit_answer("pattern_mass", self._answers), Field.PATTERN_MASS, self._list.choices)
        return _above_zero(mass, text, "3.97 g")

    def _volume(self, text: str) -> Volume:
        bare = _with_unit(text, self._heading_unit(Field.METAL_VOLUME))
        volume = read_volume(bare, unit_answer("metal_volume", self._answers), Field.METAL_VOLUME, self._list.choices)
        return _above_zero(volume, text, "cad 480 mm3")

    def _heading_unit(self, field: Field) -> str:
        index = self._list.columns.get(field)
        return heading_unit(self._list.headings[index]) if index is not None and index < len(self._list.headings) else ""

    def _lengths(self) -> Three:
        text, unit = self.cell(Field.SIZE), LENGTH_WORDS.get(self._heading_unit(Field.SIZE))
        if Field.SIZE not in self._list.columns and Field.SIZE_FIRST in self._list.columns:
            parts = (Field.SIZE_FIRST, Field.SIZE_SECOND, Field.SIZE_THIRD)
            text = " x ".join(_with_unit(self.cell(part), self._heading_unit(part)) for part in parts if self.cell(part))
        if text:
            return read_size(text, unit or unit_answer("size", self._answers), self._list.choices)
        readings = (Reading("-", "not known: each row needs a size of its own"),)
        question = Question(kind="size:missing", text="A job without a size is given the box …", form=Form.SIZE, readings=readings)
        said = choose(question, self._answers, Field.SIZE)
        if said == "-":
            raise InvalidValue(Field.SIZE, f"no size; type three lengths, such as {EXAMPLE}")
        self._found.remarks.append(f"size {said}, as for all jobs without one")
        return read_size(said, None)

    def _size_order(self) -> str:
        readings = tuple(Reading(key, remark) for key, remark in SIZE_ORDERS.items())
        text = "On the tree, of the three lengths of a size …"
        question = Question(kind="size-order", text=text, readings=readings, default="long-up")
        self._found.settled.append((self.cell(Field.SIZE), question))
        said = self._answers.get("size-order", "")
        return said if said in SIZE_ORDERS else "long-up"

    def _due(self) -> date:
        text = self.cell(Field.DUE)
        hope = hoped(text)
        if hope:
            return hoped_date(text, hope, self._answers)
        due, today = self._list.dates.read(text, Field.DUE), self._list.vocabulary.today
        if due > today + _FAR_AHEAD:
            raise InvalidValue(Field.DUE, f"“{text}” is {due.isoformat()}, more than two years ahead; type the date that is meant")
        if due >= today:
            return due
        readings = (
            Reading("keep", "they are overdue, and planned as late"),
            Reading("retype", "they are wrong, and will be typed anew"),
        )
        question = Question(kind="due:past", text="Due dates that have passed: …", readings=readings)
        if choose(question, self._answers, Field.DUE) == "retype":
            raise InvalidValue(
                Field.DUE, f"“{text}” has passed; type the date wanted, such as {(today + timedelta(days=7)).isoformat()}"
            )
        return due

    def _ready(self) -> date:
        text = self.cell(Field.READY)
        today = self._list.vocabulary.today
        if not text or plain(text) in ("ready", "yes", "y", "ja", "here", "da", "oui", "sì", "sí", "x", "ok"):
            return today
        return self._list.dates.read(text, Field.READY)

    def _weight(self) -> int | None:
        """What a day late counts: 1, or the most that the notes and the due date make of it."""
        word, hope = says(self._note, "notes", "rush"), hoped(self.cell(Field.DUE)) == "asap"
        each = "counts, for each day late, as much as so many ordinary jobs:"
        rush = self._read(Field.NOTES, lambda: self._weight_of("rush", f"A job with “{word}” in its notes {each}")) if word else 1
        asap = self._read(Field.DUE, lambda: self._weight_of("asap", f"A job due “ASAP” {each}")) if hope else 1
        return None if rush is None or asap is None else max(rush, asap)

    def _weight_of(self, kind: str, text: str) -> int:
        return int(choose(Question(kind=f"weight:{kind}", text=text, form=Form.NUMBER), self._answers, Field.NOTES))

    def _material_text(self) -> str:
        """What the row says of its material, for the examples of a question."""
        weighed = self.cell(Field.PATTERN_MASS)
        return self.cell(Field.MATERIAL) or (weighed if _without_material(weighed) != " ".join(weighed.split()) else "")

    def _material(self) -> str:
        return read_material(
            self.cell(Field.MATERIAL),
            self.cell(Field.PATTERN_MASS),
            self._note,
            self._list.vocabulary.materials,
            self._answers,
            self._found,
        )

    def _section(self) -> Section:
        return read_section(self.cell(Field.SECTION), self._note, self._answers, self._found)

    @property
    def _own_metal(self) -> bool:
        return bool(says(self._note, "notes", "own_metal"))

    def _held(self) -> str:
        """Why the job is held back; empty where it is not."""
        if not self._own_metal or self.cell(Field.JOB) in self._list.vocabulary.own_lots:
            return ""
        readings = (
            Reading("stock", "cast them from the shop's stock"),
            Reading("hold", "hold them back until the customer's metal is entered as a lot"),
        )
        question = Question(
            kind="own-metal", text="Jobs whose customer supplies the metal, which is not here yet: …", readings=readings
        )
        if choose(question, self._answers, Field.NOTES) == "stock":
            return ""
        return "held back until the customer's metal is entered as a lot for this job"

    def _notes(self) -> str:
        """The notes, with what stands in columns that no field takes."""
        used = set(self._list.columns.values())
        rest = [
            f"{heading}: {cell}" if heading else cell
            for n, (heading, cell) in enumerate(zip(self._list.headings, self._cells, strict=False))
            if n not in used and cell
        ]
        return "\n".join(part for part in (self._note, *rest) if part)


def _is_volume(text: str) -> bool:
    if re.match(r"\s*(?:cad|vol(?:ume)?)\b", text, re.IGNORECASE):
        return True
    unit = re.search(r"[^\W\d_].*$", text)
    return unit is not None and unit.group().lower().replace("³", "3").strip(" .") in VOLUME_WORDS


def _without_material(text: str) -> str:
    """``3.9g wax`` → ``3.9g``: the word says what was weighed, not how much."""
    known = meanings("materials")
    return " ".join(word for word in text.split() if plain(word) not in known)


def _with_unit(text: str, unit: str) -> str:
    """A bare number, or bare size, with the unit that its heading names."""
    bare = bool(unit) and bool(text) and not re.search(r"[^\W\d_x]|[\"″”'′]", text, re.IGNORECASE)
    return f"{text} {unit}" if bare else text


Q = TypeVar("Q", Mass, Volume)


def _above_zero(quantity: Q, text: str, example: str) -> Q:
    if quantity.base <= 0:
        raise InvalidValue(
            Field.PATTERN_MASS, f"“{text}” is nothing to cast; type what one pattern weighs or holds, such as {example}"
        )
    return quantity
