"""What a list leaves open: asked once, for all rows that it concerns."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from enum import StrEnum
from typing import TypeAlias, TypeVar

from domain.errors import InvalidValue
from domain.intake.numbers import Ambiguous, Reading
from domain.intake.sizes import read_size
from domain.intake.words import plain
from domain.saying import say

Answers: TypeAlias = Mapping[str, str]
"""The user's answers: question kind → key of a reading, or text of the question's form."""


class Form(StrEnum):
    """How a question is answered. A choice takes one of the readings; the others take text."""

    CHOICE = "choice"
    DATE = "date"
    NUMBER = "number"
    SIZE = "size"


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """``kind`` is the key of its answer. ``rows``: numbers of the rows that wait for it (or, where
    it has a ``default``, that were read by it). ``examples``: what those rows say. ``hint``: what
    other rows show. ``problem``: why the answer given so far does not do."""

    kind: str
    text: str
    readings: tuple[Reading, ...] = ()
    form: Form = Form.CHOICE
    default: str | None = None
    rows: tuple[int, ...] = ()
    examples: tuple[str, ...] = ()
    hint: str = ""
    problem: str = ""


class Asked(InvalidValue):
    """Raised where reading cannot go on without an answer."""

    def __init__(self, column: str, question: Question) -> None:
        super().__init__(column, question.text)
        self.question = question


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong with one cell, and what to type instead. ``column``: a field's name, or empty."""

    column: str
    message: str


MOST_EXAMPLES = 6

T = TypeVar("T")


@dataclass(slots=True)
class Findings:
    """Collects what one row asks and gets wrong, so that all of it is shown at once. ``asked`` and
    ``settled`` hold questions with the text that raised them; settled ones have a default."""

    problems: list[Problem] = field(default_factory=list)
    asked: list[tuple[str, Question]] = field(default_factory=list)
    settled: list[tuple[str, Question]] = field(default_factory=list)
    remarks: list[str] = field(default_factory=list)

    @property
    def clean(self) -> bool:
        return not self.problems and not self.asked

    def attempt(self, column: str, text: str, read: Callable[[], T]) -> T | None:
        """What ``read`` gives, or nothing, with its question or problem noted under ``column``."""
        try:
            return read()
        except Asked as asked:
            self.asked.append((text, asked.question))
        except Ambiguous as doubt:
            self.asked.append((text, _of_doubt(doubt)))
        except InvalidValue as error:
            self.problems.append(Problem(column, str(error)))
        return None


_TEXTS = {
    "gr": say("“gr” in a weight means …"),
    "oz": say("“oz” in a weight means …"),
    "decimal": say("A number with one comma or point and three digits behind it is read as …"),
    "pair": say("A pair counts as …"),
    "unit:pattern_mass": say("A bare number as the pattern's weight is in …"),
    "unit:metal_volume": say("A bare number as the piece's volume is in …"),
    "unit:size": say("A size without a unit is in …"),
}


_UNITS = {
    "pattern_mass": {
        "g": say("grams"),
        "dwt": say("pennyweights"),
        "gr": say("grains"),
        "ozt": say("troy ounces"),
        "ct": say("carats"),
        "mg": say("milligrams"),
    },
    "metal_volume": {"mm³": say("cubic millimetres"), "cm³": say("cubic centimetres"), "in³": say("cubic inches")},
    "size": {"mm": say("millimetres"), "cm": say("centimetres"), "in": say("inches")},
}


def unit_answer(column: str, answers: Answers) -> str | None:
    """The unit that the user gave for bare numbers of a column, if one of those offered."""
    said = answers.get(f"unit:{column}", "")
    return said if said in _UNITS[column] else None


def _of_doubt(doubt: Ambiguous) -> Question:
    if doubt.kind != "unit":
        return Question(kind=doubt.kind, text=_TEXTS.get(doubt.kind, str(doubt)), readings=doubt.readings)
    readings = tuple(Reading(unit, name) for unit, name in _UNITS[doubt.field].items())
    kind = f"unit:{doubt.field}"
    return Question(kind=kind, text=_TEXTS[kind], readings=readings)


def choose(question: Question, answers: Answers, column: str) -> str:
    """The answer to ``question``, or its default. Raises ``Asked`` where there is none that does."""
    said = answers.get(question.kind, "").strip()
    if not said and question.default is not None:
        return question.default
    problem = _unfit(question, said) if said else ""
    if not said or problem:
        raise Asked(column, replace(question, problem=problem))
    return said


def _unfit(question: Question, said: str) -> str:
    if said in {reading.key for reading in question.readings}:
        return ""
    return _FORMS[question.form](said)


def _no_such_choice(said: str) -> str:
    return say("“{said}” is none of the choices", said=said)


def _no_date(said: str) -> str:
    try:
        date.fromisoformat(said)
    except ValueError:
        return say("“{said}” is not a date; type it as 2026-12-31", said=said)
    return ""


def _no_number(said: str) -> str:
    return (
        ""
        if said.isascii() and said.isdigit() and 1 <= int(said[:6]) <= 1000
        else say("“{said}” is not a whole number from 1 to 1000", said=said)
    )


def _no_size(said: str) -> str:
    try:
        read_size(said, None)
    except InvalidValue:
        return say("“{said}” is not a size with its unit; type three lengths, such as 20 x 15 x 5 mm", said=said)
    return ""


_FORMS = {Form.CHOICE: _no_such_choice, Form.DATE: _no_date, Form.NUMBER: _no_number, Form.SIZE: _no_size}


def gathered(asked: list[tuple[int, str, Question]]) -> tuple[Question, ...]:
    """One question per kind from ``(row, what the row says, question)``, the most rows first."""
    first: dict[str, Question] = {}
    rows: dict[str, dict[int, None]] = {}
    examples: dict[str, dict[str, str]] = {}
    for row, example, question in asked:
        first.setdefault(question.kind, question)
        rows.setdefault(question.kind, {})[row] = None
        said = examples.setdefault(question.kind, {})
        if example and len(said) < MOST_EXAMPLES:
            said.setdefault(plain(example), example)
    whole = [replace(q, rows=tuple(rows[kind]), examples=tuple(examples[kind].values())) for kind, q in first.items()]
    return tuple(sorted(whole, key=lambda question: -len(question.rows)))
