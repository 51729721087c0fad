"""Models of pieces: brought in as files, measured, and their figures taken into jobs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response
from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException

from domain.errors import InvalidValue
from domain.saying import say
from domain.shop.jobs import Job
from webapp.actions import models as actions
from webapp.exchange.models import ModelDocument
from webapp.pages import Page, answer, see_other
from webapp.routes.capped import capped
from webapp.routes.edge import Db, Typed
from webapp.store import models as store
from webapp.store import nouns
from webapp.store.engine import Session
from webapp.store.models import StoredModel
from webapp.views.models import ModelView

router = APIRouter(prefix="/models")
MEGABYTES = actions.LARGEST_MODEL // (1024 * 1024)
ROOM = 8192
"""Bytes of the form around the file."""
REFUSED_UNREAD = 1_000_000_000
"""Bytes that a body may announce; what is less and still too large is refused here, in words."""


@dataclass(frozen=True, kw_only=True)
class BringModelPage(Page):
    """``job``: whose piece it is; empty for a job still to be made."""

    template: ClassVar[str] = "models/bring.html"
    here: ClassVar[str] = "jobs"

    job: str
    error: str
    megabytes: int = MEGABYTES


@dataclass(frozen=True, kw_only=True)
class ModelPage(Page):
    template: ClassVar[str] = "models/model.html"
    here: ClassVar[str] = "jobs"

    view: ModelView
    error: str


@dataclass(frozen=True, slots=True)
class Brought:
    name: str = ""
    data: bytes = b""
    job: str = ""
    error: str = ""


async def _brought(request: Request) -> Brought:
    body = capped(
        request,
        actions.LARGEST_MODEL + ROOM,
        say("It is larger than {megabytes} MB. Export it with fewer triangles, or as binary STL.", megabytes=MEGABYTES),
    )
    try:
        async with body.form(max_files=1, max_fields=2) as form:
            file, job = form.get("file"), form.get("job", "")
            data = await file.read() if isinstance(file, UploadFile) else b""
            name = (file.filename or "") if isinstance(file, UploadFile) else ""
    except HTTPException as refused:
        return Brought(error=str(refused.detail))
    error = "" if name else say("Choose a file first.")
    return Brought(name=name, data=data, job=job if isinstance(job, str) else "", error=error)


@router.get("")
def bring(request: Request, db: Db, job: str = "") -> Response:
    with db.read() as session:
        if job and nouns.find(session, Job, job) is None:
            raise HTTPException(404)
    return answer(request, BringModelPage(title=_title(job), job=job, error=""))


@router.post("", max_body_size=REFUSED_UNREAD)
def read(request: Request, db: Db, brought: Annotated[Brought, Depends(_brought)]) -> Response:
    error = brought.error
    if not error:
        try:
            return see_other(f"/models/{actions.bring(db, brought.name, brought.data, brought.job)}", say("The model was read."))
        except InvalidValue as refused:
            error = say("{model} was not taken: {refused}.", model=brought.name[-80:], refused=refused)
    return answer(request, BringModelPage(title=_title(brought.job), job=brought.job, error=error), 422)


@router.get("/{model}")
def look(request: Request, db: Db, model: str) -> Response:
    with db.read() as session:
        return _page(request, session, _stored(session, model))


@router.get("/{model}/picture.png")
def picture(db: Db, model: str) -> Response:
    with db.read() as session:
        data = store.picture(session, model)
    if data is None:
        raise HTTPException(404)
    return Response(data, media_type="image/png", headers={"Cache-Control": "private, max-age=31536000, immutable"})


@router.get("/{model}/figures.json")
def figures(db: Db, model: str) -> Response:
    with db.read() as session:
        stored = _stored(session, model)
    return Response(ModelDocument.from_domain(stored.model).model_dump_json(indent=2), media_type="application/json")


@router.post("/{model}/unit")
def unit(request: Request, db: Db, model: str, typed: Typed) -> Response:
    with db.write() as session:
        stored = _stored(session, model)
        if not actions.say_unit(session, model, typed.get("unit", "")):
            return _page(request, session, stored, say("Choose one of the units."))
    return see_other(f"/models/{model}", say("The figures are in this unit now."))


@router.post("/{model}/take")
def take(request: Request, db: Db, model: str) -> Response:
    with db.write() as session:
        stored = _stored(session, model)
        saved = actions.take(session, stored)
        if not saved.done:
            words = "; ".join(f"{field.replace('_', ' ')}: {error}" if field else error for field, error in saved.errors.items())
            return _page(request, session, stored, say("The figures were not taken over. {words}.", words=words))
    return see_other(f"/jobs/{stored.job}", say("Volume and size of the model are in the job now."))


@router.post("/{model}/remove")
def remove(db: Db, model: str) -> Response:
    with db.write() as session:
        stored = _stored(session, model)
        if stored.job is not None:
            store.remove_from(session, stored.job)
    return see_other(f"/jobs/{stored.job}" if stored.job else "/jobs", say("The model was taken off; the job keeps its figures."))


def _title(job: str) -> str:
    return say("A model for job {job}", job=job) if job else say("A new job from a model")


def _stored(session: Session, model: str) -> StoredModel:
    stored = store.find(session, model)
    if stored is None:
        raise HTTPException(404)
    return stored


def _page(request: Request, session: Session, stored: StoredModel, error: str = "") -> Response:
    view = actions.look(session, stored)
    return answer(
        request, ModelPage(title=say("Model {name}", name=stored.model.name), view=view, error=error), 422 if error else 200
    )
