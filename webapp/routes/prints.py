"""Sheets for paper. Each is an ordinary page with a print style; nothing here changes anything."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, datetime
from typing import ClassVar

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse
from markupsafe import Markup

from domain.safety.points import Pause
from domain.saying import say
from webapp import formats
from webapp.actions.planning import Desk, day_or_today, load_desk
from webapp.actions.prints import find_flask, find_load, find_plan, flask_head, flask_pauses, head, ticked_on
from webapp.pages import Page, answer
from webapp.routes.edge import Db, TheSettings, address_for_tablets
from webapp.store import models
from webapp.store.engine import Session
from webapp.views.curve import Curve, program_drawing
from webapp.views.flask import ChargeSheet, JobInFlask, charge_sheet, jobs_in
from webapp.views.floor import RecordLine
from webapp.views.numbers import qr_code, short_number
from webapp.views.prints import (
    DayFacts,
    FlaskFacts,
    PauseSheet,
    SheetHead,
    day_facts,
    flask_facts,
)
from webapp.views.tree import FloorDrawing, TreeDrawing, floor_drawing, tree_drawing

router = APIRouter(prefix="/print")


@dataclass(frozen=True, kw_only=True)
class DaySheetPage(Page):
    template: ClassVar[str] = "prints/day.html"
    here: ClassVar[str] = "today"
    head: SheetHead
    day: DayFacts
    ticked: tuple[tuple[str, RecordLine], ...]


@dataclass(frozen=True, kw_only=True)
class TicketPage(Page):
    template: ClassVar[str] = "prints/ticket.html"
    here: ClassVar[str] = "week"
    head: SheetHead
    facts: FlaskFacts
    jobs: tuple[JobInFlask, ...]
    pictures: dict[str, str]
    tree: TreeDrawing | None
    number: str
    link: str
    code: Markup


@dataclass(frozen=True, kw_only=True)
class ChargePage(Page):
    template: ClassVar[str] = "prints/charge.html"
    here: ClassVar[str] = "week"
    head: SheetHead
    facts: FlaskFacts
    charge: ChargeSheet | None


@dataclass(frozen=True, kw_only=True)
class ChecklistPage(Page):
    template: ClassVar[str] = "prints/checklist.html"
    here: ClassVar[str] = "week"
    head: SheetHead
    facts: FlaskFacts
    pauses: tuple[PauseSheet, ...]


@dataclass(frozen=True, kw_only=True)
class ProgramPage(Page):
    """``soaks``: the first soak and that after each step down, in minutes."""

    template: ClassVar[str] = "prints/program.html"
    here: ClassVar[str] = "week"
    head: SheetHead
    kiln: str
    program: str
    load_at: datetime
    curve: Curve | None
    floor: FloorDrawing | None
    flasks: tuple[FlaskFacts, ...]


def day_page(session: Session, desk: Desk, on: date) -> DaySheetPage:
    found = find_plan(desk)
    return DaySheetPage(
        title=say("Day sheet"),
        head=head(desk, found, formats.weekday(on), on),
        day=day_facts(desk.problem, found.plan, on, desk.now),
        ticked=ticked_on(session, desk, found.plan, on),
    )


def ticket_page(session: Session, desk: Desk, name: str, outside: str) -> TicketPage:
    """``outside``: where tablets reach the server."""
    found, flask = find_flask(desk, name)
    link = f"{outside}/f/{short_number(name)}"
    return TicketPage(
        title=say("Ticket of flask {name}", name=name),
        head=flask_head(desk, found, flask),
        facts=flask_facts(desk.problem, found.plan, flask),
        jobs=jobs_in(desk.problem, found.plan, flask),
        pictures=models.of_jobs(session, flask.contents),
        tree=tree_drawing(desk.problem, flask),
        number=short_number(name),
        link=link,
        code=qr_code(link),
    )


def charge_page(desk: Desk, name: str) -> ChargePage:
    found, flask = find_flask(desk, name)
    return ChargePage(
        title=say("Charge of flask {name}", name=name),
        head=flask_head(desk, found, flask),
        facts=flask_facts(desk.problem, found.plan, flask),
        charge=charge_sheet(desk.problem, found.plan, flask),
    )


def checklist_page(session: Session, desk: Desk, name: str, wanted: Collection[Pause] = tuple(Pause)) -> ChecklistPage:
    found, flask = find_flask(desk, name)
    return ChecklistPage(
        title=say("Checklist of flask {name}", name=name),
        head=flask_head(desk, found, flask),
        facts=flask_facts(desk.problem, found.plan, flask),
        pauses=flask_pauses(session, desk, flask, wanted),
    )


def program_page(desk: Desk, name: str) -> ProgramPage:
    found, load = find_load(desk, name)
    problem, clock = desk.problem, desk.problem.clock
    kiln, program = problem.kiln.get(load.kiln), problem.program.get(load.program)
    flasks = sorted((f for f in found.plan.flasks if f.load == name), key=lambda f: f.cast_start)
    return ProgramPage(
        title=say("Kiln program of load {name}", name=name),
        head=head(desk, found, name, clock.day_of(load.start)),
        kiln=kiln.name if kiln else load.kiln,
        program=program.name if program else load.program,
        load_at=clock.local(load.load_at),
        curve=program_drawing(program, load, flasks, problem.rules, clock) if program else None,
        floor=floor_drawing(problem, load, {f.id: f for f in flasks}),
        flasks=tuple(flask_facts(problem, found.plan, f) for f in flasks),
    )


@router.get("/day/{day}")
def day_sheet(request: Request, db: Db, settings: TheSettings, day: str) -> HTMLResponse:
    with db.read() as session:
        desk = load_desk(session, settings)
        page = day_page(session, desk, day_or_today(day, desk))
    return answer(request, page)


@router.get("/flask/{name}/ticket")
def ticket(request: Request, db: Db, settings: TheSettings, name: str) -> HTMLResponse:
    with db.read() as session:
        page = ticket_page(session, load_desk(session, settings), name, address_for_tablets(request))
    return answer(request, page)


@router.get("/flask/{name}/charge")
def charge(request: Request, db: Db, settings: TheSettings, name: str) -> HTMLResponse:
    with db.read() as session:
        page = charge_page(load_desk(session, settings), name)
    return answer(request, page)


@router.get("/flask/{name}/checklist")
def flask_checklist(request: Request, db: Db, settings: TheSettings, name: str) -> HTMLResponse:
    with db.read() as session:
        page = checklist_page(session, load_desk(session, settings), name)
    return answer(request, page)


@router.get("/load/{name}")
def kiln_program(request: Request, db: Db, settings: TheSettings, name: str) -> HTMLResponse:
    with db.read() as session:
        page = program_page(load_desk(session, settings), name)
    return answer(request, page)
