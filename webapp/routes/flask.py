"""One flask: its sheet, its pin and its stages."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, replace
from datetime import datetime
from typing import ClassVar

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, Response

from domain.planning.plan import Plan, PlannedFlask
from domain.safety.checklist import Caution, cautions_for
from domain.safety.gates import GATES
from domain.saying import say
from domain.units import TemperatureRange
from webapp.actions import flask as actions
from webapp.actions.flask import ORDER, Move, Tried
from webapp.actions.planning import Desk, load_desk
from webapp.pages import Page, answer, see_other
from webapp.routes.edge import Db, TheSettings, Typed
from webapp.routes.floor import checks_of
from webapp.routes.once import Once
from webapp.store import ticks
from webapp.store.flasks import happened
from webapp.views import flask as view
from webapp.views.check_links import CheckLink
from webapp.views.checks import kept_lines
from webapp.views.curve import Curve, program_drawing
from webapp.views.flask import ChargeSheet, JobInFlask, MixSheet, Place
from webapp.views.floor import RecordLine
from webapp.views.places import PlaceLine, SlotLine
from webapp.views.prints import context_of_flask
from webapp.views.tree import TreeDrawing, tree_drawing
from webapp.views.week import FlaskLine, LevelLine, LoadLine, flask_line, level_lines, load_lines

router = APIRouter(prefix="/flask", route_class=Once)
pinning = APIRouter(prefix="/flask", route_class=Once)
"""What the desk decides of a flask."""


@dataclass(frozen=True, kw_only=True)
class Compared:
    """One level before and after a move."""

    before: LevelLine
    after: LevelLine


@dataclass(frozen=True, kw_only=True)
class FlaskPage(Page):
    """``next_stage`` and ``last_stage``: what may be marked and taken back. ``key``: makes a form count
    once. ``stays``: why its pieces may not be moved, empty where they may. ``asked``: the move as typed.
    ``checks``: its checklists as they stand; ``ticked``: what was ticked and let pass, as it read that day."""

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
    checks: tuple[CheckLink, ...] = ()
    ticked: tuple[RecordLine, ...] = ()


@router.get("/{name}")
def flask(request: Request, db: Db, settings: TheSettings, name: str, job: str = "") -> HTMLResponse:
    with db.read() as session:
        desk = load_desk(session, settings)
        events = happened(session).get(name, ())
        planned_flask(desk, name)
        checks = tuple(link for links in checks_of(session, desk, name, *GATES).values() for link in links)
        ticked = kept_lines(desk.local, ticks.rows(session, [name]), ticks.overrides(session, [name]).get(name, ()))
    told = tuple((str(e.stage), desk.local(e.at), e.note) for e in events)
    asked = Move(job=job, pieces=1, from_flask=name, to=None) if job else None
    page = page_of(desk, name, events=told, asked=asked)
    return answer(request, replace(page, checks=tuple(dict.fromkeys(checks)), ticked=ticked))


@pinning.post("/{name}/pin")
def pin(db: Db, name: str, typed: Typed) -> Response:
    actions.pin(db, name, typed.get("reason", ""))
    return see_other(f"/flask/{name}", say("{name} is pinned: no plan moves it.", name=name))


@pinning.post("/{name}/unpin")
def unpin(db: Db, name: str) -> Response:
    actions.unpin(db, name)
    return see_other(f"/flask/{name}", say("{name} is not pinned any more: the next plan may move it.", name=name))


@router.post("/{name}/stage")
def stage(db: Db, settings: TheSettings, name: str, typed: Typed) -> Response:
    reached = actions.stage_of(typed.get("stage", ""))
    actions.mark(db, settings, (name,), reached, typed.get("key", ""))
    return see_other(f"/flask/{name}", say("{name} is marked {reached}.", name=name, reached=reached))


@router.post("/{name}/undo")
def undo(db: Db, name: str, typed: Typed) -> Response:
    reached = actions.stage_of(typed.get("stage", ""))
    actions.undo(db, (name,), reached, typed.get("key", ""))
    return see_other(f"/flask/{name}", say("{name} is not marked {reached} any more.", name=name, reached=reached))


def planned_flask(desk: Desk, name: str) -> tuple[Plan, PlannedFlask]:
    found = desk.plan.flask(name) if desk.plan else None
    if desk.plan is None or found is None:
        raise HTTPException(404)
    return desk.plan, found


def page_of(
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
    plan, found = planned_flask(desk, name)
    problem = desk.problem
    line = flask_line(problem, plan, found, desk.pins, desk.stages)
    first = next(iter(found.contents), "")
    context = context_of_flask(problem, found)
    place = [str(stage) for stage in ORDER].index(line.stage) + 1 if line.stage else 0
    return FlaskPage(
        title=say("Flask {name}", name=name),
        flask=name,
        line=line,
        version=desk.version,
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
        last_stage="".join(line.stage),
        key=secrets.token_urlsafe(12),
        stays=_stays(desk, line),
        places=view.places(problem, desk.open_plan, found),
        asked=asked or Move(job=first, pieces=1, from_flask=name, to=None),
        tried=tried,
        compared=compared_levels(tried),
        best=best,
        trouble=trouble,
        slots=slots,
        error=error,
    )


def _stays(desk: Desk, line: FlaskLine) -> str:
    if line.stage:
        return say("It does not move any more: it is {stage}.", stage=line.stage)
    if line.pin is not None:
        return say("It is pinned. Unpin it to move its pieces.")
    return "" if desk.open_plan.flask(line.flask.id) else say("It was knocked out before today.")


def _curve(desk: Desk, plan: Plan, found: PlannedFlask) -> Curve | None:
    load = plan.load(found.load)
    program = desk.problem.program.get(load.program) if load else None
    if load is None or program is None:
        return None
    riders = sorted((f for f in plan.flasks if f.load == load.id), key=lambda f: f.cast_start)
    return program_drawing(program, load, riders, desk.problem.rules, desk.problem.clock)


def compared_levels(tried: Tried | None) -> tuple[Compared, ...]:
    if tried is None or tried.plan is None:
        return ()
    pairs = zip(level_lines(tried.before, {}), level_lines(tried.after, {}), strict=True)
    return tuple(Compared(before=before, after=after) for before, after in pairs)
