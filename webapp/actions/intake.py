"""Bringing in a list of jobs: read it, ask, mend it, and only then take the jobs in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date

from domain.errors import InvalidValue
from domain.intake.columns import FIELD_LABELS, UNUSED, Field, guess_columns, heading_key
from domain.intake.questions import Question
from domain.intake.rows import Intake, Row, State, Vocabulary, read_rows
from domain.intake.table import Cells, read_table, table_of
from domain.saying import say
from domain.shop.alloy import Alloy
from domain.shop.jobs import Job
from domain.shop.lots import Lot
from domain.shop.pattern import PatternMaterial
from webapp.exchange.workbook import is_workbook, records_of
from webapp.store import intake as store
from webapp.store import nouns
from webapp.store.engine import Session
from webapp.store.intake import ALLOY, HEADING, Draft, Said

LARGEST_LIST = 2 * 1024 * 1024
"""Bytes of a list that are accepted; a job takes about a hundred."""

ANSWER, CELL, NEW_CELL, COLUMN = "answer:", "cell:", "field:", "column:"
"""How the fields of the forms are named, before the question's kind, the cell's number and so on."""

TYPED = ":typed"
"""Behind the name of a field for free text, where a question has choices too."""


@dataclass(frozen=True, slots=True)
class TakenIn:
    """``added`` jobs are new, ``replaced`` ones were saved before. ``left``: rows that still ask or err."""

    added: int
    replaced: int
    left: int


def begin(session: Session, name: str, data: bytes | str) -> str:
    """Keep what was pasted or uploaded as a draft; returns its id. Raises ``InvalidValue`` when it is
    empty, too large, or neither a list of text nor a workbook."""
    if not data.strip():
        raise InvalidValue("text", say("there is nothing in it; paste the rows of a list, or choose a file"))
    table = table_of(records_of(data), "xlsx") if isinstance(data, bytes) and is_workbook(data) else read_table(data)
    headings = {word: said.answer for word, said in store.remembered(session, HEADING).items()}
    columns = {field.value: index for field, index in guess_columns(table.headings, headings).items()}
    return store.start(session, name, table, columns, store.remembered(session, ALLOY))


def reading(session: Session, draft: Draft, today: date) -> Intake:
    """The draft as far as it can be read today."""
    vocabulary = Vocabulary(
        alloys=nouns.all_of(session, Alloy),
        materials=nouns.all_of(session, PatternMaterial),
        today=today,
        known={job.id: job for job in nouns.all_of(session, Job)},
        own_lots={lot.owner_job: lot.id for lot in nouns.all_of(session, Lot) if lot.owner_job},
    )
    columns = {Field(name): index for name, index in draft.columns.items()}
    intake = read_rows(draft.table, columns, draft.answers, vocabulary)
    known = store.with_archived(session, vocabulary.known, frozenset(job.id for job in intake.jobs))
    if known == vocabulary.known:
        return intake
    return read_rows(draft.table, columns, draft.answers, replace(vocabulary, known=known))


def names(session: Session) -> dict[str, str]:
    """Alloys and pattern materials by id, as people call them."""
    alloys = {alloy.id: alloy.name for alloy in nouns.all_of(session, Alloy)}
    return alloys | {material.id: material.name for material in nouns.all_of(session, PatternMaterial)}


def map_columns(session: Session, draft: Draft, typed: Mapping[str, str]) -> None:
    """Give each column the field that was chosen for it, and say which row holds the headings. Raises
    ``InvalidValue`` when a field is chosen twice."""
    columns: dict[str, int] = {}
    for index in range(_width(draft)):
        field = typed.get(f"{COLUMN}{index}", "")
        if field in columns:
            raise InvalidValue(
                "columns",
                say("two columns are set to {column}; leave it on one of them", column=FIELD_LABELS[Field(field)]),
            )
        if field in set(Field):
            columns[field] = index
    heading = typed.get("heading", "")
    row = int(heading) if heading.isascii() and heading.isdigit() and len(heading) < 6 else 0
    table = replace(draft.table, heading=row if 1 <= row <= len(draft.table.records) else None)
    store.save(session, replace(draft, table=table, columns=columns))


def answer(session: Session, draft: Draft, intake: Intake, typed: Mapping[str, str]) -> None:
    """Keep the answers to questions that are open or were settled by a default."""
    said = dict(draft.said)
    for question in intake.questions + intake.settled:
        field = f"{ANSWER}{question.kind}"
        answer = typed.get(f"{field}{TYPED}", "").strip() or typed.get(field, "").strip()
        if answer and answer != question.default:
            said[question.kind] = Said(question.text, answer[:200], _label(question, answer[:200]))
        elif answer:
            said.pop(question.kind, None)
    store.save(session, replace(draft, said=said))


def ask_again(session: Session, draft: Draft, kind: str) -> None:
    """Take one answer back."""
    store.save(session, replace(draft, said={k: said for k, said in draft.said.items() if k != kind}))


def retype(session: Session, draft: Draft, number: int, typed: Mapping[str, str]) -> None:
    """Put what was typed in place of a row's cells; a field that no column holds gets a column."""
    if not 1 <= number <= len(draft.table.records):
        raise InvalidValue("row", say("there is no such row in this list"))
    old = draft.table.records[number - 1]
    width = max(len(old), len(draft.table.headings))
    cells = [typed.get(f"{CELL}{n}", old[n] if n < len(old) else "").replace("\r\n", "\n").strip() for n in range(width)]
    fresh = {f: text for f in Field if f not in draft.columns and (text := typed.get(f"{NEW_CELL}{f}", "").strip())}
    table, columns = draft.table, dict(draft.columns)
    for field, text in fresh.items():
        table, columns[field] = table.with_column(FIELD_LABELS[field])
        cells += [""] * (columns[field] - len(cells)) + [text]
    store.save(session, replace(draft, table=table.with_record(number, tuple(cells)), columns=columns))


def take_in(session: Session, draft: Draft, today: date) -> TakenIn:
    """Save every job that is ready, and remember what the headings and alloy words mean. Raises
    ``InvalidValue`` when no job is ready. The draft stays while rows ask or err."""
    intake = reading(session, draft, today)
    if not intake.jobs:
        raise InvalidValue("list", say("no row of this list is ready to be taken in; answer the questions and mend the rows first"))
    replaced = sum(nouns.find(session, Job, job.id) is not None for job in intake.jobs)
    for job in intake.jobs:
        nouns.put(session, job)
    _learn(session, draft)
    left = len(unfinished(intake))
    if not left:
        store.drop(session, draft.id)
    return TakenIn(len(intake.jobs) - replaced, replaced, left)


def leftover(draft: Draft, intake: Intake) -> tuple[Cells, ...]:
    """The headings and the rows that still ask or err, to work on elsewhere."""
    rows = sorted(unfinished(intake), key=lambda row: row.number)
    headings = [draft.table.headings] if draft.table.heading is not None else []
    return (*headings, *(row.cells for row in rows))


def unfinished(intake: Intake) -> tuple[Row, ...]:
    return intake.in_state(State.QUESTION) + intake.in_state(State.ERROR)


def _learn(session: Session, draft: Draft) -> None:
    by_column = {index: field for field, index in draft.columns.items()}
    if draft.table.heading is not None:
        named = {heading_key(h): by_column.get(n, UNUSED) for n, h in enumerate(draft.table.headings) if heading_key(h)}
        store.remember(session, HEADING, {word: Said("", field, "") for word, field in named.items()})
    store.remember(session, ALLOY, {kind: said for kind, said in draft.said.items() if kind.startswith("alloy:")})


def _width(draft: Draft) -> int:
    return len(draft.table.headings)


def _label(question: Question, answer: str) -> str:
    return next((reading.label for reading in question.readings if reading.key == answer), answer)
