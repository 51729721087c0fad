"""Bringing in a list of jobs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException

from domain.errors import InvalidValue
from domain.saying import Saying, say
from webapp.actions import intake as actions
from webapp.formats import begun, local
from webapp.pages import Page, answer, see_other
from webapp.routes.capped import capped
from webapp.routes.downloads import table_file
from webapp.routes.edge import Db, TheSettings, Typed
from webapp.settings import Settings
from webapp.store import intake as store
from webapp.store.engine import Session
from webapp.store.intake import Draft, DraftLine
from webapp.store.week import load_rules
from webapp.views.intake import (
    A_FILE,
    PASTED,
    CellField,
    ListView,
    NewField,
    Problem,
    called,
    list_view,
    new_fields,
    row_cells,
    row_problems,
)

router = APIRouter(prefix="/intake")

ROOM = 4096
"""bytes for the form around the list"""


@dataclass(frozen=True, kw_only=True)
class BringPage(Page):
    """``drafts``: lists that were begun. ``text``: what was pasted, where it could not be read."""

    template: ClassVar[str] = "intake/bring.html"
    here: ClassVar[str] = "jobs"

    drafts: tuple[DraftLine, ...]
    text: str
    error: str
    megabytes: int = actions.LARGEST_LIST // (1024 * 1024)


@dataclass(frozen=True, kw_only=True)
class ListPage(Page):
    template: ClassVar[str] = "intake/list.html"
    here: ClassVar[str] = "jobs"

    view: ListView
    error: str


@dataclass(frozen=True, kw_only=True)
class RowPage(Page):
    template: ClassVar[str] = "intake/row.html"
    here: ClassVar[str] = "jobs"

    draft: str
    number: int
    cells: tuple[CellField, ...]
    fresh: tuple[NewField, ...]
    problems: tuple[Problem, ...]


@dataclass(frozen=True, slots=True)
class Brought:
    """What was pasted or uploaded, or why it was not read."""

    name: str = ""
    text: str = ""
    data: bytes = b""
    error: str = ""


async def _brought(request: Request) -> Brought:
    body = capped(request, actions.LARGEST_LIST + ROOM, say("It is larger than 2 MB. Split the list and bring in the parts."))
    try:
        async with body.form(max_files=1, max_fields=4, max_part_size=actions.LARGEST_LIST) as form:
            file, text = form.get("file"), form.get("text", "")
            data = await file.read() if isinstance(file, UploadFile) else b""
            name = (file.filename or A_FILE)[:80] if data and isinstance(file, UploadFile) else PASTED
    except HTTPException as refused:
        return Brought(error=str(refused.detail))
    return Brought(name=name, text=text if isinstance(text, str) else "", data=data)


@router.get("")
def bring(request: Request, db: Db) -> Response:
    with db.read() as session:
        return _bring(request, session, Brought())


@router.post("")
def begin(request: Request, db: Db, brought: Annotated[Brought, Depends(_brought)]) -> Response:
    with db.write() as session:
        if brought.error:
            return _bring(request, session, brought, 413)
        try:
            draft = actions.begin(session, brought.name, brought.data or brought.text)
        except InvalidValue as error:
            return _bring(request, session, Brought(text=brought.text, error=_sentence(str(error))), 422)
    return see_other(f"/intake/{draft}")


@router.get("/{draft}")
def look(request: Request, db: Db, settings: TheSettings, draft: str, show: str = "") -> Response:
    with db.read() as session:
        return _list(request, session, settings, draft, show=show)


@router.post("/{draft}/columns")
def columns(request: Request, db: Db, settings: TheSettings, draft: str, typed: Typed) -> Response:
    with db.write() as session:
        try:
            actions.map_columns(session, _draft(session, draft, typed), typed)
        except InvalidValue as error:
            return _list(request, session, settings, draft, error=str(error))
    return see_other(f"/intake/{draft}", say("The columns were read again."))


@router.post("/{draft}/answers")
def answers(request: Request, db: Db, settings: TheSettings, draft: str, typed: Typed) -> Response:
    with db.write() as session:
        try:
            found = _draft(session, draft, typed)
            actions.answer(session, found, actions.reading(session, found, _today(session, settings)), typed)
        except InvalidValue as error:
            return _list(request, session, settings, draft, error=str(error))
    return see_other(f"/intake/{draft}", say("The list was read again with these answers."))


@router.post("/{draft}/ask-again")
def ask_again(request: Request, db: Db, settings: TheSettings, draft: str, typed: Typed) -> Response:
    with db.write() as session:
        try:
            actions.ask_again(session, _draft(session, draft, typed), typed.get("kind", ""))
        except InvalidValue as error:
            return _list(request, session, settings, draft, error=str(error))
    return see_other(f"/intake/{draft}", say("The question is asked again."))


@router.get("/{draft}/rest.{form}")
def rest(db: Db, settings: TheSettings, draft: str, form: str) -> Response:
    with db.read() as session:
        found = _draft(session, draft)
        records = actions.leftover(found, actions.reading(session, found, _today(session, settings)))
    return table_file(records, "rows-to-mend", form)


@router.get("/{draft}/rows/{number}")
def row(request: Request, db: Db, settings: TheSettings, draft: str, number: int) -> Response:
    with db.read() as session:
        found = _draft(session, draft)
        if not 1 <= number <= len(found.table.records):
            raise HTTPException(404)
        intake = actions.reading(session, found, _today(session, settings))
    page = RowPage(
        title=say("Row {number} of {list}", number=number, list=called(found.name)),
        draft=found.id,
        number=number,
        cells=row_cells(found, number),
        fresh=new_fields(found),
        problems=row_problems(found, intake.rows[number - 1]),
    )
    return answer(request, page)


@router.post("/{draft}/rows/{number}")
def retype(request: Request, db: Db, settings: TheSettings, draft: str, number: int, typed: Typed) -> Response:
    with db.write() as session:
        try:
            actions.retype(session, _draft(session, draft), number, typed)
        except InvalidValue as error:
            return _list(request, session, settings, draft, error=str(error))
    return see_other(f"/intake/{draft}#row-{number}", say("Row {number} was read again.", number=number))


@router.post("/{draft}/take-in")
def take_in(request: Request, db: Db, settings: TheSettings, draft: str, typed: Typed) -> Response:
    with db.write() as session:
        try:
            found = _draft(session, draft, typed)
            taken = actions.take_in(session, found, _today(session, settings))
        except InvalidValue as error:
            return _list(request, session, settings, draft, error=str(error))
    said: Saying = say("{added} jobs were taken in.", added=taken.added)
    if taken.replaced:
        counts = {"added": taken.added, "replaced": taken.replaced}
        said = say("{added} jobs were taken in, {replaced} saved ones were replaced.", **counts)
    if taken.left:
        return see_other(
            f"/intake/{draft}", say("{said} {left} rows of the list still need something.", said=said, left=taken.left)
        )
    return see_other("/jobs", said)


@router.post("/{draft}/drop")
def drop(db: Db, draft: str) -> Response:
    with db.write() as session:
        store.drop(session, draft)
    return see_other("/intake", say("The list was put away. Jobs that were taken in stay."))


def _sentence(text: str) -> str:
    return f"{begun(text)}."


def _bring(request: Request, session: Session, brought: Brought, status: int = 200) -> Response:
    timezone = load_rules(session).timezone
    drafts = tuple(
        replace(draft, name=called(draft.name), brought_at=local(draft.brought_at, timezone))
        for draft in store.open_drafts(session)
    )
    return answer(
        request, BringPage(title=say("Bring in a list of jobs"), drafts=drafts, text=brought.text, error=brought.error), status
    )


def _draft(session: Session, draft: str, typed: Mapping[str, str] | None = None) -> Draft:
    """The draft. Raises ``InvalidValue`` where the form was made from an older version of it."""
    found = store.find(session, draft)
    if found is None:
        raise HTTPException(404)
    if typed is not None and typed.get("version") != str(found.version):
        raise InvalidValue("list", say("this list was changed in another window; here is how it stands now"))
    return found


def _today(session: Session, settings: Settings) -> date:
    return settings.now(load_rules(session).timezone).date()


def _list(request: Request, session: Session, settings: Settings, draft: str, *, error: str = "", show: str = "") -> Response:
    found = _draft(session, draft)
    intake = actions.reading(session, found, _today(session, settings))
    page = ListPage(
        title=say("Bring in {list}", list=called(found.name)),
        view=list_view(found, intake, actions.names(session), show),
        error=error,
    )
    return answer(request, page, 422 if error else 200)
