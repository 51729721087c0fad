"""Moving pieces out of a flask, or the whole flask, by hand: try, look where else, keep."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from domain.errors import DomainError
from domain.saying import say
from webapp.actions import flask as actions
from webapp.actions.flask import Move, Tried, WantedSlot
from webapp.actions.planning import load_desk
from webapp.pages import Part, answer, see_other, wants_part
from webapp.routes.edge import Db, TheSettings, Typed, version_in
from webapp.routes.flask import Compared, compared_levels, page_of, planned_flask
from webapp.views import places as view
from webapp.views.places import PlaceLine, SlotLine

router = APIRouter(prefix="/flask")


@dataclass(frozen=True, kw_only=True)
class MoveAnswer(Part):
    """What the checker says of a move. ``tried`` is none before the first try."""

    template: ClassVar[str] = "flask/_move.html"

    flask: str
    version: int
    tried: Tried | None
    compared: tuple[Compared, ...]


@dataclass(frozen=True, kw_only=True)
class PlacesAnswer(Part):
    """The best other places for the pieces of ``asked``; none before they are asked for."""

    template: ClassVar[str] = "flask/_places.html"

    flask: str
    version: int
    asked: Move
    best: tuple[PlaceLine, ...] | None
    trouble: str = ""


@dataclass(frozen=True, kw_only=True)
class SlotsAnswer(Part):
    """The best other slots for the whole flask; none before they are asked for."""

    template: ClassVar[str] = "flask/_slots.html"

    flask: str
    version: int
    slots: tuple[SlotLine, ...] | None


@router.get("/{name}/move")
def try_move(
    request: Request, db: Db, settings: TheSettings, name: str, job: str = "", pieces: str = "", to: str = "", load: str = ""
) -> HTMLResponse:
    """The checker's answer at once; nothing is saved."""
    with db.read() as session:
        desk = load_desk(session, settings)
    try:
        move = _move(name, job, pieces, to, load)
        tried = actions.try_move(desk, move)
    except DomainError as error:
        return answer(request, page_of(desk, name, error=str(error)), 422)
    if wants_part(request):
        return answer(request, MoveAnswer(flask=name, version=desk.version, tried=tried, compared=compared_levels(tried)))
    return answer(request, page_of(desk, name, asked=move, tried=tried))


@router.get("/{name}/places")
def places(
    request: Request, db: Db, settings: TheSettings, name: str, job: str = "", pieces: str = "", to: str = ""
) -> HTMLResponse:
    """Where else the pieces may go; nothing is saved."""
    with db.read() as session:
        desk = load_desk(session, settings)
    planned_flask(desk, name)
    asked, best, trouble = Move(job=job, pieces=1, from_flask=name, to=to or None), None, ""
    try:
        asked = _move(name, job, pieces, to)
        best = view.place_lines(desk.problem, actions.places_for(desk, asked))
    except DomainError as error:
        trouble = str(error)
    status = 422 if trouble else 200
    if wants_part(request):
        return answer(request, PlacesAnswer(flask=name, version=desk.version, asked=asked, best=best, trouble=trouble), status)
    return answer(request, page_of(desk, name, asked=asked, best=best, trouble=trouble), status)


@router.post("/{name}/move")
def keep_move(request: Request, db: Db, settings: TheSettings, name: str, typed: Typed) -> Response:
    move = _move(name, typed.get("job", ""), typed.get("pieces", ""), typed.get("to", ""), typed.get("load", ""))
    version = typed.get("version", "")
    tried = actions.keep_move(db, settings, move, int(version) if version.isdecimal() else -1)
    if tried.allowed:
        where = move.to or tried.new_flask
        return see_other(
            f"/flask/{where}",
            say(
                "{pieces} of {job} moved to {where}: a new plan, made by hand, passed the check.",
                pieces=move.pieces,
                job=move.job,
                where=where,
            ),
        )
    with db.read() as session:
        desk = load_desk(session, settings)
    return answer(request, page_of(desk, name, asked=move, tried=tried), 422)


@router.get("/{name}/slots")
def slots(request: Request, db: Db, settings: TheSettings, name: str, load: str = "") -> HTMLResponse:
    """Where else the whole flask may go; nothing is saved."""
    with db.read() as session:
        desk = load_desk(session, settings)
    planned_flask(desk, name)
    try:
        best = view.slot_lines(desk.problem, actions.slots_for(desk, name, load), name)
    except DomainError as error:
        return answer(request, page_of(desk, name, error=str(error)), 422)
    if wants_part(request):
        return answer(request, SlotsAnswer(flask=name, version=desk.version, slots=best))
    return answer(request, page_of(desk, name, slots=best))


@router.post("/{name}/slot")
def keep_slot(request: Request, db: Db, settings: TheSettings, name: str, typed: Typed) -> Response:
    minute = typed.get("minute", "")
    wanted = WantedSlot(
        load=typed.get("load", ""), machine=typed.get("machine", ""), cast_start=int(minute) if minute.isdecimal() else -1
    )
    try:
        actions.keep_slot(db, settings, name, wanted, version_in(typed))
    except DomainError as error:
        with db.read() as session:
            desk = load_desk(session, settings)
        return answer(request, page_of(desk, name, error=str(error)), 422)
    return see_other(f"/flask/{name}", say("{name} has another slot: a new plan, made by hand, passed the check.", name=name))


def _move(name: str, job: str, pieces: str, to: str, load: str = "") -> Move:
    if not pieces.strip().isdecimal():
        raise DomainError(say("“{pieces}” is not a number of pieces.", pieces=pieces))
    return Move(job=job, pieces=int(pieces), from_flask=name, to=to or None, load=load or None)
