"""A table of cells → jobs, questions and errors, one row each; nothing is dropped."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from domain.intake.columns import Columns, Field
from domain.intake.draft import Draft, Vocabulary
from domain.intake.numbering import Numbering, number_rows
from domain.intake.numbers import Reading
from domain.intake.questions import Answers, Findings, Problem, Question, choose, gathered
from domain.intake.reader import draft_of
from domain.intake.row import ListRow, TheList
from domain.intake.table import Cells, Table
from domain.intake.words import plain, words
from domain.saying import say
from domain.shop.jobs import Job

__all__ = ["Intake", "Row", "State", "Vocabulary", "read_rows"]


class State(StrEnum):
    READY = "ready"
    QUESTION = "question"
    ERROR = "error"
    SKIPPED = "skipped"
    DUPLICATE = "duplicate"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One record of the list. ``job``: where it is ready. ``problems``: what to type instead.
    ``waits_for``: kinds of questions. ``why``: why it is skipped, or what it repeats.
    ``twin``: the row that it repeats. ``remarks``: what was taken from its notes or by default."""

    number: int
    cells: Cells
    state: State
    job: Job | None = None
    problems: tuple[Problem, ...] = ()
    waits_for: tuple[str, ...] = ()
    why: str = ""
    twin: int | None = None
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Intake:
    """The rows of a list as far as they can be read. ``questions`` are open; ``settled`` ones were
    read by their default, which the user may change."""

    rows: tuple[Row, ...]
    questions: tuple[Question, ...]
    settled: tuple[Question, ...] = ()

    @property
    def jobs(self) -> tuple[Job, ...]:
        return tuple(row.job for row in self.rows if row.job is not None)

    def in_state(self, state: State) -> tuple[Row, ...]:
        return tuple(row for row in self.rows if row.state is state)


def read_rows(table: Table, columns: Columns, answers: Answers, vocabulary: Vocabulary) -> Intake:
    """Every row of the list, read with the answers so far. Answer ``{question.kind: reading.key}``
    (or text of the question's form) and read again."""
    skipped = {n: why for n, cells in enumerate(table.records, start=1) if (why := _no_job(n, cells, table, columns))}
    data = {n: cells for n, cells in enumerate(table.records, start=1) if n not in skipped}
    the_list = TheList.of(table.headings, list(data.values()), columns, answers, vocabulary)
    numbering = number_rows(data, columns, answers)
    gathering = _Gathering()
    rows = []
    for number, cells in enumerate(table.records, start=1):
        if number in skipped:
            rows.append(Row(number=number, cells=cells, state=State.SKIPPED, why=skipped[number]))
        else:
            rows.append(_row(number, ListRow(the_list, cells), numbering, gathering))
    return Intake(rows=tuple(rows), questions=gathered(gathering.asked), settled=gathered(gathering.settled))


@dataclass(slots=True)
class _Gathering:
    asked: list[tuple[int, str, Question]] = field(default_factory=list)
    settled: list[tuple[int, str, Question]] = field(default_factory=list)


def _no_job(number: int, cells: Cells, table: Table, columns: Columns) -> str:
    """Why a record holds no job: blank, headings, a total; empty where it may hold one."""
    if not any(cells):
        return say("blank line")
    if table.heading is not None and number < table.heading:
        return say("above the headings")
    if table.heading is not None and number == table.heading:
        return say("the headings")
    if table.heading is not None and _repeats(cells, table.headings):
        return say("the headings again")
    return say("a total, not a job") if _is_total(cells, columns) else ""


def _repeats(cells: Cells, headings: Cells) -> bool:
    """Whether a row says the headings again; columns added later are not in it."""
    said = "\t".join(cells).lower().rstrip("\t").split("\t")
    return len(said) > 1 and said == [heading.lower() for heading in headings[: len(said)]]


def _is_total(cells: Cells, columns: Columns) -> bool:
    first = next(cell for cell in cells if cell)
    named = [cells[columns[f]] for f in (Field.ITEM, Field.ALLOY) if f in columns and columns[f] < len(cells)]
    return plain(first) in words("totals") and not any(cell for cell in named if cell != first)


def _row(number: int, row: ListRow, numbering: Numbering, gathering: _Gathering) -> Row:
    cells = row.cells
    twin = numbering.twins.get(number)
    if twin is not None:
        return Row(number=number, cells=cells, state=State.DUPLICATE, twin=twin, why=say("the same as row {twin}", twin=twin))
    if number in numbering.left_out:
        return Row(number=number, cells=cells, state=State.SKIPPED, why=numbering.left_out[number])
    findings = Findings()
    job_id = findings.attempt(Field.JOB, row.cell(Field.JOB), lambda: numbering.id_of(number))
    draft = draft_of(row, findings)
    judged = _judged(number, row, job_id, draft, findings)
    gathering.asked += [(number, text, question) for text, question in findings.asked]
    gathering.settled += [(number, text, question) for text, question in findings.settled]
    return judged


def _judged(number: int, row: ListRow, job_id: str | None, draft: Draft | None, findings: Findings) -> Row:
    cells = row.cells
    job = None
    if job_id is not None and draft is not None and findings.clean:
        if draft.held:
            return Row(number=number, cells=cells, state=State.SKIPPED, why=draft.held, remarks=tuple(findings.remarks))
        job = draft.job(job_id)
        saved = row.vocabulary.known.get(job_id)
        verdict = _against_saved(job, saved, draft, row.answers, findings) if saved is not None else ""
        if verdict:
            state = State.DUPLICATE if verdict.startswith("already") else State.SKIPPED
            return Row(number=number, cells=cells, state=state, why=verdict)
    state = State.ERROR if findings.problems else State.QUESTION if findings.asked else State.READY
    return Row(
        number=number,
        cells=cells,
        state=state,
        job=job if state is State.READY else None,
        problems=tuple(findings.problems),
        waits_for=tuple(dict.fromkeys(question.kind for _, question in findings.asked)),
        remarks=tuple(findings.remarks),
    )


def _against_saved(job: Job, saved: Job, draft: Draft, answers: Answers, findings: Findings) -> str:
    """Why a job that is saved already is not taken again; empty where it is to replace the saved one."""
    if draft.same_as(job, saved):
        return say("already taken in: the saved job {saved} says the same", saved=saved.id)
    readings = (Reading("replace", say("the list replaces what is saved")), Reading("keep", say("what is saved stays")))
    text = say("Jobs of this list that are saved already, but say something else: …")
    question = Question(kind="known-differs", text=text, readings=readings)
    said = findings.attempt(Field.JOB, job.id, lambda: choose(question, answers, Field.JOB))
    return say("the saved job {saved} stays as it is", saved=saved.id) if said == "keep" else ""
