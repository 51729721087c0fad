"""The points of the shop's checklists, for other software."""

from __future__ import annotations

from fastapi import HTTPException
from fastapi.responses import Response

from domain.safety.catalogue import catalogue
from domain.safety.own_points import PointChange
from domain.safety.points import Pause
from webapp.actions import checklists as actions
from webapp.actions.saving import Saved
from webapp.exchange.api.base import Done
from webapp.exchange.api.office import NewPointWanted, PointChanged, PointMoved, PointTurned, PointWanted
from webapp.exchange.api.people import ChecklistList, ListedPointDocument
from webapp.routes.api.common import Key, noun, refuse_unless_done, told
from webapp.routes.edge import Db
from webapp.store import checklists
from webapp.store.engine import Session

router = noun("/checklists", "Checklists")


@router.get("", response_model=ChecklistList, summary="List the points of the shop's checklists")
def points(db: Db) -> Response:
    with db.read() as session:
        listed, versions = catalogue(checklists.changes(session)), checklists.versions(session)
    items = (
        ListedPointDocument(
            id=p.id,
            version=versions.get(p.id, 0),
            pause=p.pause,
            text=p.text,
            why=p.why,
            required=p.required,
            reading=p.reading,
            second=p.second,
            when=p.when,
            dropped=p.dropped,
        )
        for p in listed
    )
    return told(ChecklistList(items=tuple(items)))


@router.post("", status_code=201, response_model=Done, summary="Add a point of the shop's own")
def add(db: Db, body: NewPointWanted) -> Response:
    with db.write() as session:
        saved = actions.add(session, {**_typed(body), "pause": Pause(body.pause).name if body.pause in set(Pause) else ""})
        refuse_unless_done(saved)
    return told(Done(said=f"The point {saved.key} was added."), 201)


@router.put("/{key}", response_model=Done, summary="Change a point")
def change(db: Db, key: Key, body: PointChanged) -> Response:
    with db.write() as session:
        return _done(actions.change(session, _standing(session, key), _typed(body), body.version), "The point was saved.")


@router.post("/{key}/drop", response_model=Done, summary="Leave a point out of its list")
def drop(db: Db, key: Key, body: PointTurned) -> Response:
    with db.write() as session:
        return _done(actions.drop(session, _standing(session, key), body.reason, body.version), "The point is left out.")


@router.post("/{key}/restore", response_model=Done, summary="Put a point back to how it started")
def restore(db: Db, key: Key, body: PointTurned) -> Response:
    with db.write() as session:
        return _done(actions.restore(session, _standing(session, key), body.version), "The point is as it started.")


@router.post("/{key}/put-back", response_model=Done, summary="Ask a point again that was left out")
def put_back(db: Db, key: Key, body: PointTurned) -> Response:
    with db.write() as session:
        return _done(actions.put_back(session, _standing(session, key), body.version), "The point is back in its list.")


@router.post("/{key}/move", response_model=Done, summary="Put a point before or after its neighbour")
def move(db: Db, key: Key, body: PointMoved) -> Response:
    with db.write() as session:
        _standing(session, key)
        actions.move(session, key, -1 if body.where == "up" else 1)
    return told(Done(said="The point has moved."))


def _typed(body: PointWanted) -> dict[str, str]:
    """As the form of the page sends it."""
    marks = {name: "on" for name in ("required", "second") if getattr(body, name)}
    return {**body.conditions, "text": body.text, "why": body.why, "reading": body.reading, "reason": body.reason, **marks}


def _standing(session: Session, key: str) -> PointChange:
    found = actions.find(session, key)
    if found is None:
        raise HTTPException(404)
    return found[0]


def _done(saved: Saved, said: str) -> Response:
    refuse_unless_done(saved)
    return told(Done(said=said))
