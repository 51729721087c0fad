"""A list that is being brought in, as the screen shows it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from domain.intake.columns import FIELD_LABELS, Field
from domain.intake.questions import Question
from domain.intake.rows import Intake, Row, State
from domain.saying import listed, say
from domain.shop.jobs import Job
from webapp.store.intake import Draft

MOST_ROWS = 200
"""Rows on one page; the others are behind the filters."""

PASTED, A_FILE = "pasted", "a file"
"""What a list is kept as that has no name."""

STATE_WORDS = {
    State.READY: (say("ready"), "good"),
    State.QUESTION: (say("waiting for an answer"), "warn"),
    State.ERROR: (say("to be mended"), "bad"),
    State.DUPLICATE: (say("there already"), ""),
    State.SKIPPED: (say("no job"), ""),
}
"""Words and mark of each state."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """``cell``: index of the cell to type anew, none where no column holds it."""

    message: str
    label: str
    cell: int | None
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RowView:
    number: int
    state: str
    mark: str
    cells: tuple[str, ...]
    job: Job | None
    alloy: str
    material: str
    problems: tuple[Problem, ...]
    waits_for: tuple[str, ...]
    more_waits: int
    why: str
    remarks: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnView:
    index: int
    heading: str
    example: str
    field: str


@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionView:
    """``number``: for ids on the page. ``chosen``: the answer that stands. ``total``: how many rows it
    serves, ``others`` of which are not named."""

    number: int
    question: Question
    chosen: str
    total: int
    others: int


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerView:
    kind: str
    asked: str
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StateCount:
    key: str
    words: str
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ListView:
    """``hidden``: how many rows of the chosen kind are not on the page."""

    id: str
    name: str
    version: int
    heading: int | None
    columns: tuple[ColumnView, ...]
    fields: tuple[tuple[str, str], ...]
    unused: tuple[str, ...]
    missing: str
    questions: tuple[QuestionView, ...]
    settled: tuple[QuestionView, ...]
    answers: tuple[AnswerView, ...]
    counts: tuple[StateCount, ...]
    ready: int
    asked: int
    said: int
    rows: tuple[RowView, ...]
    hidden: int
    show: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CellField:
    index: int
    heading: str
    text: str
    long: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class NewField:
    field: str
    label: str


def called(name: str) -> str:
    return {PASTED: say("pasted"), A_FILE: say("a file")}.get(name, name)


def list_view(draft: Draft, intake: Intake, names: Mapping[str, str], show: str) -> ListView:
    shown = [row for row in intake.rows if not show or row.state == show]
    columns = _columns(draft)
    return ListView(
        id=draft.id,
        name=called(draft.name),
        version=draft.version,
        heading=draft.table.heading,
        columns=columns,
        fields=tuple((field.value, label) for field, label in FIELD_LABELS.items()),
        unused=tuple(column.heading for column in columns if not column.field and column.heading),
        missing=_missing(draft),
        questions=tuple(_question(n, q, draft) for n, q in enumerate(intake.questions)),
        settled=tuple(_question(n + len(intake.questions), q, draft) for n, q in enumerate(intake.settled)),
        answers=_answers(draft, intake),
        counts=tuple(StateCount(key=s.value, words=STATE_WORDS[s][0], count=len(intake.in_state(s))) for s in STATE_WORDS),
        ready=len(intake.jobs),
        asked=len(intake.questions),
        said=len(_answers(draft, intake)),
        rows=tuple(_row(draft, row, intake, names) for row in shown[:MOST_ROWS]),
        hidden=max(0, len(shown) - MOST_ROWS),
        show=show,
    )


def _missing(draft: Draft) -> str:
    """Fields that nearly every list has, and this one has no column for."""
    usual = (Field.JOB, Field.ALLOY, Field.QUANTITY, Field.DUE)
    missing = [FIELD_LABELS[field] for field in usual if field.value not in draft.columns]
    weighed = {Field.PATTERN_MASS.value, Field.METAL_VOLUME.value} & set(draft.columns)
    return listed((*missing, *([] if weighed else [FIELD_LABELS[Field.PATTERN_MASS]])))


def _columns(draft: Draft) -> tuple[ColumnView, ...]:
    fields = {index: field for field, index in draft.columns.items()}
    first = draft.table.heading or 0
    examples = next((r for r in draft.table.records[first:] if any(r)), ())
    return tuple(
        ColumnView(index=n, heading=heading, example=examples[n] if n < len(examples) else "", field=fields.get(n, ""))
        for n, heading in enumerate(draft.table.headings)
    )


def _question(number: int, question: Question, draft: Draft) -> QuestionView:
    chosen = draft.said[question.kind].answer if question.kind in draft.said else question.default or ""
    total = len(question.rows)
    return QuestionView(number=number, question=question, chosen=chosen, total=total, others=max(0, total - 12))


def _answers(draft: Draft, intake: Intake) -> tuple[AnswerView, ...]:
    open_kinds = {question.kind for question in intake.questions + intake.settled}
    return tuple(AnswerView(kind=k, asked=s.asked, label=s.label) for k, s in draft.said.items() if k not in open_kinds)


def _row(draft: Draft, row: Row, intake: Intake, names: Mapping[str, str]) -> RowView:
    words, mark = STATE_WORDS[row.state]
    texts = {question.kind: question.text for question in intake.questions}
    return RowView(
        number=row.number,
        state=words,
        mark=mark,
        cells=row.cells,
        job=row.job,
        alloy=names.get(row.job.alloy, row.job.alloy) if row.job else "",
        material=names.get(row.job.material, row.job.material) if row.job else "",
        problems=row_problems(draft, row),
        waits_for=tuple(texts[kind] for kind in row.waits_for),
        more_waits=max(0, len(row.waits_for) - 2),
        why=row.why,
        remarks=row.remarks,
    )


def row_problems(draft: Draft, row: Row) -> tuple[Problem, ...]:
    return tuple(_problem(draft, row, p.column, p.message) for p in row.problems)


def _problem(draft: Draft, row: Row, column: str, message: str) -> Problem:
    cell = draft.columns.get(column)
    text = row.cells[cell] if cell is not None and cell < len(row.cells) else ""
    label = FIELD_LABELS[Field(column)] if column in set(Field) else say("row")
    return Problem(message=message, label=label, cell=cell, text=text)


def row_cells(draft: Draft, number: int) -> tuple[CellField, ...]:
    cells = draft.table.records[number - 1]
    headings = draft.table.headings
    width = max(len(cells), len(headings))
    texts = [(headings[n] if n < len(headings) else "", cells[n] if n < len(cells) else "") for n in range(width)]
    return tuple(
        CellField(index=n, heading=heading or say("column {number}", number=n + 1), text=text, long="\n" in text or len(text) > 60)
        for n, (heading, text) in enumerate(texts)
    )


def new_fields(draft: Draft) -> tuple[NewField, ...]:
    """Fields that no column holds, to be typed for one row."""
    parts = (Field.SIZE_FIRST, Field.SIZE_SECOND, Field.SIZE_THIRD)
    return tuple(NewField(field=f.value, label=FIELD_LABELS[f]) for f in Field if f.value not in draft.columns and f not in parts)
