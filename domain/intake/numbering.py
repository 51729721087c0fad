"""Which job number each row stands for: repeated rows, one number for two jobs, no number at all."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import count

from domain.errors import InvalidValue
from domain.intake.columns import Columns, Field
from domain.intake.numbers import Reading
from domain.intake.questions import Answers, Asked, Question, choose
from domain.intake.table import Cells
from domain.saying import say

_LONGEST_ID = 40


@dataclass(frozen=True, slots=True, kw_only=True)
class Numbering:
    """``twins``: row → the earlier row that it repeats. ``left_out``: row → why the user's answer
    leaves it out. ``ids``: row → its job number, or what to raise for it."""

    twins: Mapping[int, int]
    left_out: Mapping[int, str]
    ids: Mapping[int, str | InvalidValue]

    def id_of(self, row: int) -> str:
        """The row's job number. Raises ``Asked`` or ``InvalidValue`` where it has none yet."""
        found = self.ids[row]
        if isinstance(found, InvalidValue):
            raise found
        return found


def number_rows(data: Mapping[int, Cells], columns: Columns, answers: Answers) -> Numbering:
    """Job numbers for the rows that may hold a job. A number made here avoids those of the list, not
    those saved, so that the same list makes the same numbers again."""
    ids: dict[int, str | InvalidValue] = {n: _typed_id(cells, columns, answers) for n, cells in data.items()}
    groups: dict[str, list[int]] = {}
    for row, found in ids.items():
        if isinstance(found, str):
            groups.setdefault(found, []).append(row)
    twins: dict[int, int] = {}
    left_out: dict[int, str] = {}
    used = set(groups)
    for job_id, rows in groups.items():
        different = _without_twins(rows, data, twins)
        if len(different) > 1:
            _settle(job_id, different, answers, ids, left_out, used)
    return Numbering(twins=twins, left_out=left_out, ids=ids)


def _typed_id(cells: Cells, columns: Columns, answers: Answers) -> str | InvalidValue:
    index = columns.get(Field.JOB)
    typed = cells[index] if index is not None and index < len(cells) else ""
    if len(typed) > _LONGEST_ID or "\n" in typed:
        return InvalidValue(
            "job",
            say(
                "“{typed}…” is too long for a job number; type at most {most} characters",
                typed=typed[:20],
                most=_LONGEST_ID,
            ),
        )
    return typed or _made_id(cells, answers)


def _made_id(cells: Cells, answers: Answers) -> str | InvalidValue:
    """A number made from what the row says, so that the same row gets the same one again."""
    readings = (
        Reading("make", say("numbers are made from what the row says (the same row gets the same number again)")),
        Reading("type", say("numbers will be typed in")),
    )
    question = Question(kind="number:missing", text=say("A row without a job number: …"), readings=readings)
    try:
        said = choose(question, answers, "job")
    except Asked as asked:
        return asked
    if said == "type":
        return InvalidValue("job", say("no job number; type one, such as 2400"))
    return "N-" + hashlib.sha256("\x1f".join(cells).encode("utf-8", "replace")).hexdigest()[:8]


def _without_twins(rows: list[int], data: Mapping[int, Cells], twins: dict[int, int]) -> list[int]:
    first: dict[tuple[str, ...], int] = {}
    for row in rows:
        content = tuple(" ".join(cell.split()) for cell in data[row])
        if first.setdefault(content, row) != row:
            twins[row] = first[content]
    return list(first.values())


def _settle(
    job_id: str, rows: list[int], answers: Answers, ids: dict[int, str | InvalidValue], left_out: dict[int, str], used: set[str]
) -> None:
    """One number for different jobs: asked; the answer leaves rows out, or gives the later ones a
    number of their own."""
    readings = (
        Reading("all", say("each row is a job of its own; the later ones get {job_id}-2 and so on", job_id=job_id)),
        Reading("first", say("only the first row of each number counts")),
        Reading("last", say("only the last row of each number counts")),
    )
    text = say("Where rows that say different things have the same job number, …")
    question = Question(kind="same-number", text=text, readings=readings)
    try:
        said = choose(question, answers, "job")
    except Asked as asked:
        ids.update(dict.fromkeys(rows, asked))
        return
    kept = rows if said == "all" else [rows[0] if said == "first" else rows[-1]]
    left_out.update(
        {row: say("number {job_id} is taken from row {kept}", job_id=job_id, kept=kept[0]) for row in rows if row not in kept}
    )
    for row in kept[1:]:
        ids[row] = next(made for n in count(2) if (made := f"{job_id}-{n}") not in used)
        used.add(str(ids[row]))
