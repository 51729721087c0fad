"""One row of a list, with what the list as a whole says: columns, units, decimal mark, dates."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from domain.intake.columns import Columns, Field, heading_unit
from domain.intake.dates import DateReader, forms_of
from domain.intake.draft import Vocabulary
from domain.intake.questions import Answers
from domain.intake.table import Cells


@dataclass(frozen=True, slots=True, kw_only=True)
class TheList:
    """What holds for all rows of a list."""

    headings: Cells
    columns: Columns
    answers: Answers
    vocabulary: Vocabulary
    choices: Mapping[str, str]
    dates: DateReader

    @classmethod
    def of(cls, headings: Cells, records: Sequence[Cells], columns: Columns, answers: Answers, vocabulary: Vocabulary) -> TheList:
        dated = [r[columns[f]] for r in records for f in (Field.DUE, Field.READY) if f in columns and columns[f] < len(r)]
        return cls(
            headings=headings,
            columns=columns,
            answers=answers,
            vocabulary=vocabulary,
            choices=_with_decimal_mark(answers, records),
            dates=DateReader(vocabulary.today, forms_of(dated), answers),
        )


def _with_decimal_mark(answers: Answers, records: Sequence[Cells]) -> dict[str, str]:
    """Where the list holds decimal commas, a point before three digits may part thousands: ask."""
    commas = re.compile(r"(?<![0-9.,])(?:[0-9]+,(?:[0-9]{1,2}|[0-9]{4,})|0,[0-9]+)(?![0-9.,])")
    choices = dict(answers)
    if "decimal" not in choices and any(commas.search(cell) for record in records for cell in record):
        choices["decimal"] = "ask"
    return choices


@dataclass(frozen=True, slots=True)
class ListRow:
    """The cells of one row, by field."""

    the_list: TheList
    cells: Cells

    @property
    def answers(self) -> Answers:
        return self.the_list.answers

    @property
    def vocabulary(self) -> Vocabulary:
        return self.the_list.vocabulary

    @property
    def note(self) -> str:
        return self.cell(Field.NOTES)

    def cell(self, field: Field) -> str:
        """What the row says in a field's column; empty where there is none."""
        index = self.the_list.columns.get(field)
        return self.cells[index] if index is not None and index < len(self.cells) else ""

    def heading_unit(self, field: Field) -> str:
        """The unit that the heading of a field's column names; empty where there is none."""
        index = self.the_list.columns.get(field)
        headings = self.the_list.headings
        return heading_unit(headings[index]) if index is not None and index < len(headings) else ""
