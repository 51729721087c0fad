"""One flask: its sheet, its pin, its stages, and moving pieces out of it."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, Response

from domain.errors import DomainError
from domain.planning.plan import Plan, PlannedFlask
from domain.safety.checklist import Caution, cautions_for
from domain.units import TemperatureRange
from webapp.actions import flask as actions
from webapp.actions.flask import ORDER, Move, Tried, WantedSlot
from webapp.actions.planning import Desk, load_desk
from webapp.pages import Page, Part, answer, see_other, wants_part
from webapp.routes.edge import Db, TheSettings, Typed, version_in
from webapp.store.flasks import happened
from webapp.views import flask as view
from webapp.views.curve import Curve, program_drawing
from webapp.views.flask import ChargeSheet, JobInFlask, MixSheet, Place, PlaceLine, SlotLine
from webapp.views.prints import context_of_flask
from webapp.views.tree import TreeDrawing, tree_drawing
from webapp.views.week import FlaskLine, LevelLine, LoadLine, flask_line, level_lines, load_lines

router = APIRouter(prefix="/flask")


@dataclass(frozen=True, kw_only=True)
class Compared:
    """One level before and after a move."""

    before: LevelLine
    after: LevelLine


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


@dataclass(frozen=True, kw_only=True)
class FlaskPage(Page):
    """``next_stage`` and ``last_stage``: what may be marked and taken back. ``key``: makes a form count
    once. ``stays``: why its pieces may not be moved, empty where they may. ``asked``: the move as typed."""

    template: ClassVar[str] = "flask/flask.html"
    here: ClassVar[str] = "week"

    flask: str
    line: FlaskLine
    version: int
    people: tuple[str, ...]
    temperatures: TemperatureRange | None
    jobs: tuple[JobInFlask, ...]
    tree: TreeDrawing | None
    mix: MixSheet | None
    load: LoadLine | None
    curve: Curve | None
    charge: ChargeSheet | None
    cautions: tuple[Caution, ...]
    events: tuple[tuple[str, datetime, str], ...]
    next_stage: str
    last_stage: str
    key: str
    stays: str
    places: tuple[Place, ...]
    asked: Move
    tried: Tried | None
    compared: tuple[Compared, ...]
    best: tuple[PlaceLine, ...] | None = None
    trouble: str = ""
    slots: tuple[SlotLine, ...] | None = None
    error: str = ""


@router.get("/{name}")
def flask(request: Request, db: Db, settings: TheSettings, name: str) -> HTMLResponse:
    with db.read() as session:
        desk = load_desk(session, settings)
        events = happened(session).get(name, ())
    told = tuple((str(e.stage), desk.local(e.at), e.note) for e in events)
    return answer(request, _page(desk, name, events=told))


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
        return answer(request, _page(desk, name, error=str(error)), 422)
    if wants_part(request):
        return answer(request, MoveAnswer(flask=name, version=_version(desk), tried=tried, compared=_compared(tried)))
    return answer(request, _page(desk, name, asked=move, tried=tried))


@router.get("/{name}/places")
def places(
    request: Request, db: Db, settings: TheSettings, name: str, job: str = "", pieces: str = "", to: str = ""
) -> HTMLResponse:
    """Where else the pieces may go; nothing is saved."""
    with db.read() as session:
        desk = load_desk(session, settings)
    _found(desk, name)
    asked, best, trouble = Move(job=job, pieces=1, from_flask=name, to=to or None), None, ""
    try:
        asked = _move(name, job, pieces, to)
        best = view.place_lines(desk.problem, actions.places_for(desk, asked))
    except DomainError as error:
        trouble = str(error)
    status = 422 if trouble else 200
    if wants_part(request):
        return answer(request, PlacesAnswer(flask=name, version=_version(desk), asked=asked, best=best, trouble=trouble), status)
    return answer(request, _page(desk, name, asked=asked, best=best, trouble=trouble), status)


@router.post("/{name}/move")
def keep_move(request: Request, db: Db, settings: TheSettings, name: str, typed: Typed) -> Response:
    move = _move(name, typed.get("job", ""), typed.get("pieces", ""), typed.get("to", ""), typed.get("load", ""))
    version = typed.get("version", "")
    tried = actions.keep_move(db, settings, move, int(version) if version.isdecimal() else -1)
    if tried.allowed:
        where = move.to or tried.new_flask
        return see_other(
            f"/flask/{where}", f"{move.pieces} of {move.job} moved to {where}: a new plan, made by hand, passed the check."
        )
    with db.read() as session:
        desk = load_desk(session, settings)
    return answer(request, _page(desk, name, asked=move, tried=tried), 422)


@router.get("/{name}/slots")
def slots(request: Request, db: Db, settings: TheSettings, name: str) -> HTMLResponse:
    """Where else the whole flask may go; nothing is saved."""
    with db.read() as session:
        desk = load_desk(session, settings)
    _found(desk, name)
    try:
        best = view.slot_lines(desk.problem, actions.slots_for(desk, name), name)
    except DomainError as error:
        return answer(request, _page(desk, name, error=str(error)), 422)
    if wants_part(request):
        return answer(request, SlotsAnswer(flask=name, version=_version(desk), slots=best))
    return answer(request, _page(desk, name, slots=best))


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
        return answer(request, _page(desk, name, error=str(error)), 422)
    return see_other(f"/flask/{name}", f"{name} has another slot: a new plan, made by hand, passed the check.")


@router.post("/{name}/pin")
def pin(db: Db, name: str, typed: Typed) -> Response:
    actions.pin(db, name, typed.get("reason", ""))
    return see_other(f"/flask/{name}", f"{name} is pinned: no plan moves it.")


@router.post("/{name}/unpin")
def unpin(db: Db, name: str) -> Response:
    actions.unpin(db, name)
    return see_other(f"/flask/{name}", f"{name} is not pinned any more: the next plan may move it.")


@router.post("/{name}/stage")
def stage(db: Db, name: str, typed: Typed) -> Response:
    reached = actions.stage_of(typed.get("stage", ""))
    actions.mark(db, (name,), reached, typed.get("key", ""))
    return see_other(f"/flask/{name}", f"{name} is marked {reached}.")


@router.post("/{name}/undo")
def undo(db: Db, name: str, typed: Typed) -> Response:
    reached = actions.stage_of(typed.get("stage", ""))
    actions.undo(db, (name,), reached, typed.get("key", ""))
    return see_other(f"/flask/{name}", f"{name} is not marked {reached} any more.")


def _move(name: str, job: str, pieces: str, to: str, load: str = "") -> Move:
    if not pieces.strip().isdecimal():
        raise DomainError(f"“{pieces}” is not a number of pieces.")
    return Move(job=job, pieces=int(pieces), from_flask=name, to=to or None, load=load or None)


def _version(desk: Desk) -> int:
    return desk.stored.version if desk.stored else 0


def _found(desk: Desk, name: str) -> tuple[Plan, PlannedFlask]:
    found = desk.plan.flask(name) if desk.plan else None
    if desk.plan is None or found is None:
        raise HTTPException(404)
    return desk.plan, found


def _page(
    desk: Desk,
    name: str,
    *,
    events: tuple[tuple[str, datetime, str], ...] = (),
    asked: Move | None = None,
    tried: Tried | None = None,
    best: tuple[PlaceLine, ...] | None = None,
    trouble: str = "",
    slots: tuple[SlotLine, ...] | None = None,
    error: str = "",
) -> FlaskPage:
    plan, found = _found(desk, name)
    problem = desk.problem
    line = flask_line(problem, plan, found, desk.pins, desk.stages)
    first = next(iter(found.contents), "")
    context = context_of_flask(problem, found)
    place = [str(stage) for stage in ORDER].index(line.stage) + 1 if line.stage else 0
    return FlaskPage(
        title=f"Flask {name}",
        flask=name,
        line=line,
        version=_version(desk),
        people=view.people_names(problem, found),
        temperatures=view.common_temperatures(problem, found),
        jobs=view.jobs_in(problem, plan, found),
        tree=tree_drawing(problem, found),
        mix=view.mix_sheet(problem, found),
        load=next((one for one in load_lines(problem, plan) if one.load.id == found.load), None),
        curve=_curve(desk, plan, found),
        charge=view.charge_sheet(problem, plan, found),
        cautions=cautions_for(context) if context else (),
        events=events,
        next_stage=str(ORDER[place]) if place < len(ORDER) else "",
        last_stage=line.stage,
        key=secrets.token_urlsafe(12),
        stays=_stays(desk, line),
        places=view.places(problem, desk.open_plan, found),
        asked=asked or Move(job=first, pieces=1, from_flask=name, to=None),
        tried=tried,
        compared=_compared(tried),
        best=best,
        trouble=trouble,
        slots=slots,
        error=error,
    )


def _stays(desk: Desk, line: FlaskLine) -> str:
    if line.stage:
        return f"It does not move any more: it is {line.stage}."
    if line.pin is not None:
        return "It is pinned. Unpin it to move its pieces."
    return "" if desk.open_plan.flask(line.flask.id) else "It was knocked out before today."


def _curve(desk: Desk, plan: Plan, found: PlannedFlask) -> Curve | None:
    load = plan.load(found.load)
    program = desk.problem.program.get(load.program) if load else None
    if load is None or program is None:
        return None
    riders = sorted((f for f in plan.flasks if f.load == load.id), key=lambda f: f.cast_start)
    return program_drawing(program, load, riders, desk.problem.rules, desk.problem.clock)


def _compared(tried: Tried | None) -> tuple[Compared, ...]:
    if tried is None or tried.plan is None:
        return ()
    pairs = zip(level_lines(tried.before, {}), level_lines(tried.after, {}), strict=True)
    return tuple(Compared(before=before, after=after) for before, after in pairs)
