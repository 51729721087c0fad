"""Lists that are being brought in: drafts, and what the shop remembers of lists before."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from uuid import uuid4

from sqlmodel import col, select

from domain.errors import InvalidValue
from domain.intake.table import Table
from domain.saying import say
from domain.shop.jobs import Job
from webapp.store import nouns
from webapp.store.engine import Session
from webapp.store.tables import IntakeDraft, IntakeMemory

HEADING, ALLOY = "heading", "alloy"


@dataclass(frozen=True, slots=True)
class Said:
    """An answer: what was asked, the answer, and the answer in words."""

    asked: str
    answer: str
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A list that is being brought in. ``columns``: field → index of its column."""

    id: str
    name: str
    version: int
    table: Table
    columns: Mapping[str, int]
    said: Mapping[str, Said] = field(default_factory=dict)

    @property
    def answers(self) -> dict[str, str]:
        return {kind: said.answer for kind, said in self.said.items()}


@dataclass(frozen=True, slots=True)
class DraftLine:
    id: str
    name: str
    rows: int
    brought_at: datetime


def start(session: Session, name: str, table: Table, columns: Mapping[str, int], said: Mapping[str, Said]) -> str:
    """Keep a new draft; returns its id."""
    row = IntakeDraft(
        id=uuid4().hex,
        name=name,
        delimiter=table.delimiter,
        encoding=table.encoding,
        heading=table.heading,
        records=[list(cells) for cells in table.records],
        columns=dict(columns),
        answers=_stored(said),
    )
    session.add(row)
    session.flush()
    return row.id


def find(session: Session, draft: str) -> Draft | None:
    row = session.get(IntakeDraft, draft)
    if row is None:
        return None
    records = tuple(tuple(cells) for cells in row.records)
    table = Table(records=records, heading=row.heading, delimiter=row.delimiter, encoding=row.encoding)
    said = {kind: Said(*parts) for kind, parts in row.answers.items()}
    return Draft(id=row.id, name=row.name, version=row.version, table=table, columns=row.columns, said=said)


def save(session: Session, draft: Draft) -> None:
    """Keep the draft's table, mapping and answers as they are now. Raises ``InvalidValue`` where it
    was dropped, or changed since it was read."""
    row = session.get(IntakeDraft, draft.id)
    if row is None or row.version != draft.version:
        raise InvalidValue("list", say("this list was changed in another window; open it again"))
    row.records = [list(cells) for cells in draft.table.records]
    row.columns = dict(draft.columns)
    row.answers = _stored(draft.said)
    row.version += 1
    session.flush()


def drop(session: Session, draft: str) -> None:
    row = session.get(IntakeDraft, draft)
    if row is not None:
        session.delete(row)
        session.flush()


def open_drafts(session: Session) -> tuple[DraftLine, ...]:
    """Lists that were begun and not finished, newest first."""
    rows = session.exec(select(IntakeDraft).order_by(col(IntakeDraft.brought_at).desc())).all()
    return tuple(DraftLine(row.id, row.name, len(row.records), row.brought_at) for row in rows)


def remembered(session: Session, kind: str) -> dict[str, Said]:
    """Word → what it means, of one kind."""
    rows = session.exec(select(IntakeMemory).where(IntakeMemory.kind == kind)).all()
    return {row.word: Said(row.asked, row.meaning, row.label) for row in rows}


def remember(session: Session, kind: str, meanings: Mapping[str, Said]) -> None:
    for word, said in meanings.items():
        session.merge(IntakeMemory(kind=kind, word=word, meaning=said.answer, asked=said.asked, label=said.label))
    session.flush()


def with_archived(session: Session, known: Mapping[str, Job], wanted: frozenset[str]) -> dict[str, Job]:
    """The known jobs and those wanted ones that are archived: a number that was used is not free."""
    found = {job_id: nouns.find(session, Job, job_id) for job_id in wanted - known.keys()}
    return {**known, **{job_id: job for job_id, job in found.items() if job is not None}}


def _stored(said: Mapping[str, Said]) -> dict[str, tuple[str, str, str]]:
    return {kind: (one.asked, one.answer, one.label) for kind, one in said.items()}
