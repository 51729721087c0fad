"""All papers of a day in the order of the work: on one page to print, and as one PDF; the week for the wall as PDF."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from functools import partial
from typing import ClassVar

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from markupsafe import Markup

from domain.planning.clock import Minute
from domain.planning.plan import KilnLoad, Plan
from domain.safety.points import Pause
from domain.saying import say
from webapp import formats
from webapp.actions.planning import Desk, day_or_today, load_desk
from webapp.actions.prints import find_plan
from webapp.pages import Page, answer
from webapp.paper import STYLES, Paper, document, sheets_of
from webapp.pdf import NoPdf, pdf_of
from webapp.routes.edge import Db, TheSettings, address_for_tablets
from webapp.routes.papers import papers_page
from webapp.routes.prints import charge_page, checklist_page, day_page, program_page, ticket_page
from webapp.routes.wall import wall_page
from webapp.settings import Settings
from webapp.store import models
from webapp.store.engine import Session

router = APIRouter(prefix="/print")


@dataclass(frozen=True, kw_only=True)
class EverythingPage(Page):
    template: ClassVar[str] = "prints/everything.html"
    here: ClassVar[str] = "today"
    day: date
    sheets: tuple[Markup, ...]


@dataclass(frozen=True, kw_only=True)
class NoPdfPage(Page):
    """``why``: no PDF was made; ``address``: the page that the browser of the reader can print."""

    template: ClassVar[str] = "prints/no_pdf.html"
    here: ClassVar[str] = "today"
    why: str
    address: str


def sheets_of_day(session: Session, desk: Desk, on: date, outside: str) -> tuple[Page, ...]:
    """The day's own sheets, then those of its flasks and kiln loads as their work comes up: the ticket and the first
    pause with investing, the program and its pause with a kiln's start, charge and the other pauses with the cast."""
    plan = find_plan(desk).plan
    papers = papers_page(desk, on)
    work = sorted(_work(session, desk, plan, outside), key=lambda found: found[:2])
    today = (page for at, _, make in work if desk.problem.clock.day_of(at) == on for page in make())
    return (day_page(session, desk, on), replace(papers, papers=replace(papers.papers, casts=())), *today)


Work = tuple[Minute, str, Callable[[], tuple[Page, ...]]]
"""When, what it is about, and what makes its sheets."""


def _work(session: Session, desk: Desk, plan: Plan, outside: str) -> Iterator[Work]:
    for flask in plan.flasks:
        yield flask.invest_start, flask.id, partial(_at_investing, session, desk, flask.id, outside)
        yield flask.cast_start, flask.id, partial(_at_the_cast, session, desk, flask.id)
    for load in plan.loads:
        yield load.start, load.id, partial(_at_the_kiln, session, desk, plan, load)


def _at_investing(session: Session, desk: Desk, flask: str, outside: str) -> tuple[Page, ...]:
    return ticket_page(session, desk, flask, outside), checklist_page(session, desk, flask, (Pause.INVEST,))


def _at_the_cast(session: Session, desk: Desk, flask: str) -> tuple[Page, ...]:
    return charge_page(desk, flask), checklist_page(session, desk, flask, (Pause.MELT, Pause.POUR, Pause.QUENCH))


def _at_the_kiln(session: Session, desk: Desk, plan: Plan, load: KilnLoad) -> tuple[Page, ...]:
    """The flasks of a load share the pause: one sheet for all."""
    lists = [checklist_page(session, desk, one, (Pause.KILN,)) for one in load.flasks if plan.flask(one)][:1]
    return program_page(desk, load.id), *lists


@router.get("/all/{day}.pdf")
def everything_as_pdf(request: Request, db: Db, settings: TheSettings, day: str, paper: str = "A4") -> Response:
    with db.read() as session:
        desk = load_desk(session, settings)
        on = day_or_today(day, desk)
        sheets = sheets_of(sheets_of_day(session, desk, on, address_for_tablets(request)))
        title = say("Papers of {day}", day=on)
        body = Markup("").join(Markup('<div class="sheet-part">{}</div>').format(sheet) for sheet in sheets)
        html = document(title, body, Paper.named(paper), lambda model: models.picture(session, model))
    return _pdf(request, settings, html, f"castweek-{on}", f"/print/all/{on}")


@router.get("/all/{day}")
def everything(request: Request, db: Db, settings: TheSettings, day: str) -> HTMLResponse:
    with db.read() as session:
        desk = load_desk(session, settings)
        on = day_or_today(day, desk)
        sheets = sheets_of(sheets_of_day(session, desk, on, address_for_tablets(request)))
    return answer(request, EverythingPage(title=say("All papers of {day}", day=formats.weekday(on)), day=on, sheets=sheets))


@router.get("/week/{day}.pdf")
def wall_as_pdf(request: Request, db: Db, settings: TheSettings, day: str, paper: str = "A4") -> Response:
    with db.read() as session:
        desk = load_desk(session, settings)
    page = wall_page(desk, day_or_today(day, desk))
    html = document(page.title, "".join(sheets_of([page])), Paper.named(paper), lambda _: None, styles=(*STYLES, "wall.css"))
    return _pdf(request, settings, html, f"castweek-week-{page.head.day}", f"/print/week/{page.head.day}")


def _pdf(request: Request, settings: Settings, html: str, name: str, address: str) -> Response:
    try:
        content = pdf_of(html, settings.browser)
    except NoPdf as error:
        return answer(request, NoPdfPage(title=say("No PDF this time"), why=str(error), address=address), 503)
    headers = {"Content-Disposition": f'attachment; filename="{name}.pdf"', "Cache-Control": "no-store"}
    return Response(content, media_type="application/pdf", headers=headers)
