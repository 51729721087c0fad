"""Lists of jobs that are brought in, for other software: read, asked about, mended, and then taken in."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import Body, HTTPException, Path, Query
from fastapi.responses import Response

from domain.intake.questions import Question
from domain.intake.rows import Intake, Row
from webapp.actions import intake as actions
from webapp.exchange.api.base import Done
from webapp.exchange.api.office import (
    AnswersWanted,
    CellsWanted,
    ColumnsWanted,
    DraftLineDocument,
    DraftList,
    ListAt,
    ListDocument,
    ListProblem,
    ListQuestion,
    ListRowDocument,
    TakenDocument,
)
from webapp.exchange.documents import JobDocument
from webapp.problems import Refused
from webapp.routes.api.common import PLAIN, Key, noun, told
from webapp.routes.edge import Db, TheSettings
from webapp.settings import Settings
from webapp.store import intake as store
from webapp.store.engine import Session
from webapp.store.intake import Draft
from webapp.store.week import load_rules

router = noun("/lists", "Lists of jobs")
TheFile = Annotated[bytes, Body(media_type="application/octet-stream", description="CSV in any encoding, or XLSX; at most 2 MB")]
FileName = Annotated[str, Query(max_length=80, pattern=PLAIN, description="What the list is called")]
RowNumber = Annotated[int, Path(ge=1, le=100_000, description="Which row of the list")]


@router.get("", response_model=DraftList, summary="List what was begun to be brought in")
def drafts(db: Db) -> Response:
    with db.read() as session:
        lines = store.open_drafts(session)
    return told(DraftList(items=tuple(DraftLineDocument(draft=one.id, name=one.name, rows=one.rows) for one in lines)))


@router.post("", status_code=201, response_model=ListDocument, summary="Bring in a list of jobs; no job is saved yet")
def begin(db: Db, settings: TheSettings, file: TheFile, name: FileName = "a file") -> Response:
    if len(file) > actions.LARGEST_LIST:
        raise Refused(422, "The list is larger than 2 MB. Split it and bring in the parts.")
    with db.write() as session:
        return told(_document(session, settings, actions.begin(session, name, file)), 201)


@router.get("/{key}", response_model=ListDocument, summary="Read a list as far as it is understood, and what it asks")
def look(db: Db, settings: TheSettings, key: Key) -> Response:
    with db.read() as session:
        return told(_document(session, settings, key))


@router.put("/{key}/columns", response_model=ListDocument, summary="Say what the columns of a list hold")
def columns(db: Db, settings: TheSettings, key: Key, body: ColumnsWanted) -> Response:
    typed = {f"{actions.COLUMN}{index}": field for field, index in body.columns.items()}
    with db.write() as session:
        actions.map_columns(session, _draft(session, key, body), {**typed, "heading": f"{body.heading or ''}"})
        return told(_document(session, settings, key))


@router.post("/{key}/answers", response_model=ListDocument, summary="Answer what a list asks")
def answers(db: Db, settings: TheSettings, key: Key, body: AnswersWanted) -> Response:
    with db.write() as session:
        draft = _draft(session, key, body)
        for kind in (kind for kind, text in body.answers.items() if not text.strip()):
            actions.ask_again(session, draft, kind)
            draft = _draft(session, key)
        typed = {f"{actions.ANSWER}{kind}": text for kind, text in body.answers.items()}
        actions.answer(session, draft, _reading(session, settings, draft), typed)
        return told(_document(session, settings, key))


@router.put("/{key}/rows/{number}", response_model=ListDocument, summary="Type another text into a row of a list")
def retype(db: Db, settings: TheSettings, key: Key, number: RowNumber, body: CellsWanted) -> Response:
    typed = {f"{actions.CELL}{index}": text for index, text in body.cells.items()}
    fresh = {f"{actions.NEW_CELL}{field}": text for field, text in body.fields.items()}
    with db.write() as session:
        actions.retype(session, _draft(session, key, body), number, {**typed, **fresh})
        return told(_document(session, settings, key))


@router.post("/{key}/take-in", response_model=TakenDocument, summary="Take in every job of a list that is ready")
def take_in(db: Db, settings: TheSettings, key: Key, body: ListAt) -> Response:
    with db.write() as session:
        taken = actions.take_in(session, _draft(session, key, body), _today(session, settings))
    return told(TakenDocument(added=taken.added, replaced=taken.replaced, left=taken.left))


@router.delete("/{key}", response_model=Done, summary="Put a list away; jobs that were taken in stay")
def drop(db: Db, key: Key) -> Response:
    with db.write() as session:
        _draft(session, key)
        store.drop(session, key)
    return told(Done(said="The list was put away. Jobs that were taken in stay."))


def _draft(session: Session, key: str, body: ListAt | None = None) -> Draft:
    found = store.find(session, key)
    if found is None:
        raise HTTPException(404)
    if body is not None and body.version != found.version:
        raise Refused(409, "Nothing was changed: the list was changed since you read it.", kind="overtaken", version=found.version)
    return found


def _today(session: Session, settings: Settings) -> date:
    return settings.now(load_rules(session).timezone).date()


def _reading(session: Session, settings: Settings, draft: Draft) -> Intake:
    return actions.reading(session, draft, _today(session, settings))


def _document(session: Session, settings: Settings, key: str) -> ListDocument:
    draft = _draft(session, key)
    found = _reading(session, settings, draft)
    return ListDocument(
        draft=draft.id,
        name=draft.name,
        version=draft.version,
        headings=draft.table.headings,
        columns=dict(draft.columns),
        questions=tuple(map(_question, found.questions)),
        rows=tuple(map(_row, found.rows)),
    )


def _question(question: Question) -> ListQuestion:
    choices = {reading.key: reading.label for reading in question.readings}
    return ListQuestion(kind=question.kind, text=question.text, choices=choices, default=question.default, rows=question.rows)


def _row(row: Row) -> ListRowDocument:
    job = None if row.job is None else JobDocument.from_domain(row.job)
    problems = tuple(ListProblem(column=one.column, message=one.message) for one in row.problems)
    return ListRowDocument(number=row.number, state=row.state, cells=row.cells, job=job, problems=problems, waits_for=row.waits_for)
