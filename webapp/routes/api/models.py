"""Models of pieces, for other software."""

from __future__ import annotations

from typing import Annotated

from fastapi import Body, HTTPException, Query
from fastapi.responses import Response

from domain.shop.jobs import Job
from webapp.actions import models as actions
from webapp.exchange.api.base import Done
from webapp.exchange.api.office import ModelFound, UnitSaid
from webapp.exchange.models import ModelDocument
from webapp.routes.api.common import PLAIN, Key, noun, refuse_unless_done, told
from webapp.routes.edge import Db
from webapp.store import models as store
from webapp.store import nouns
from webapp.store.engine import Session
from webapp.store.models import StoredModel

router = noun("/models", "Models")
TheFile = Annotated[bytes, Body(media_type="application/octet-stream", description="STL, OBJ or 3MF, at most 6 MB")]
FileName = Annotated[str, Query(max_length=200, pattern=PLAIN, description="Name of the file, with its ending")]
OfJob = Annotated[str, Query(max_length=200, description="Id of the job whose piece it is; empty for a job still to be made")]


@router.post("", status_code=201, response_model=ModelFound, summary="Bring in a model: volume, size, thinnest section")
def bring(db: Db, file: TheFile, name: FileName, job: OfJob = "") -> Response:
    with db.read() as session:
        if job and nouns.find(session, Job, job) is None:
            raise HTTPException(404)
    model = actions.bring(db, name, file, job)
    with db.read() as session:
        return told(_found(session, _stored(session, model)), 201)


@router.get("/{key}", response_model=ModelFound, summary="Read what a model measures")
def read(db: Db, key: Key) -> Response:
    with db.read() as session:
        return told(_found(session, _stored(session, key)))


@router.put("/{key}/unit", response_model=ModelFound, summary="Say in which unit a model was drawn")
def unit(db: Db, key: Key, body: UnitSaid) -> Response:
    with db.write() as session:
        _stored(session, key)
        actions.say_unit(session, key, body.unit)
        return told(_found(session, _stored(session, key)))


@router.post("/{key}/take", response_model=Done, summary="Put volume and size of a model into its job")
def take(db: Db, key: Key) -> Response:
    with db.write() as session:
        refuse_unless_done(actions.take(session, _stored(session, key)))
    return told(Done(said="Volume and size of the model are in the job now."))


@router.delete("/{key}", response_model=Done, summary="Take a model off its job, which keeps its figures")
def remove(db: Db, key: Key) -> Response:
    with db.write() as session:
        stored = _stored(session, key)
        if stored.job is not None:
            store.remove_from(session, stored.job)
    return told(Done(said="The model was taken off; the job keeps its figures."))


def _stored(session: Session, model: str) -> StoredModel:
    stored = store.find(session, model)
    if stored is None:
        raise HTTPException(404)
    return stored


def _found(session: Session, stored: StoredModel) -> ModelFound:
    fields = {name: text for name, text in actions.typed_of(session, stored.model).items() if text}
    return ModelFound(job=stored.job, model=ModelDocument.from_domain(stored.model), fields=fields)
