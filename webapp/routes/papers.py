"""Papers for a whole day: labels on sheets or a roll, the metal to fetch, the investment to mix, all charges."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from domain.saying import say
from webapp import formats
from webapp.actions.planning import Desk, day_or_today, load_desk
from webapp.actions.prints import find_plan, head
from webapp.pages import Page, answer
from webapp.routes.edge import Db, TheSettings, address_for_tablets
from webapp.views.numbers import qr_code, short_number
from webapp.views.papers import DayPapers, Label, day_papers, flasks_of_day
from webapp.views.prints import SheetHead, flask_facts

router = APIRouter(prefix="/print")

PAPERS = (
    ("a4", say("A4, 3 × 8 labels of 70 × 37 mm")),
    ("letter", say("Letter, 3 × 10 labels of 2⅝ × 1 in")),
    ("roll", say("roll, 62 mm wide")),
)
MOST_SKIPPED = 29


@dataclass(frozen=True, kw_only=True)
class LabelsPage(Page):
    """``skip``: places of the first sheet that are used up."""

    template: ClassVar[str] = "prints/labels.html"
    here: ClassVar[str] = "today"
    head: SheetHead
    labels: tuple[Label, ...]
    paper: str
    papers: tuple[tuple[str, str], ...] = PAPERS
    skip: int


@dataclass(frozen=True, kw_only=True)
class PapersPage(Page):
    template: ClassVar[str] = "prints/papers.html"
    here: ClassVar[str] = "today"
    head: SheetHead
    papers: DayPapers


@router.get("/labels/{day}")
def labels(request: Request, db: Db, settings: TheSettings, day: str, paper: str = "a4", skip: str = "0") -> HTMLResponse:
    with db.read() as session:
        desk = load_desk(session, settings)
    found, on = find_plan(desk), day_or_today(day, desk)
    outside = address_for_tablets(request)
    made = []
    for flask in flasks_of_day(desk.problem, found.plan, on):
        facts = flask_facts(desk.problem, found.plan, flask)
        number = short_number(flask.id)
        made.append(Label(facts=facts, number=number, code=qr_code(f"{outside}/f/{number}"), cast=facts.times.cast))
    page = LabelsPage(
        title=say("Flask labels"),
        head=head(desk, found, formats.weekday(on), on),
        labels=tuple(made),
        paper=paper if paper in dict(PAPERS) else "a4",
        skip=min(int(skip), MOST_SKIPPED) if skip.isascii() and skip.isdecimal() and len(skip) < 4 else 0,
    )
    return answer(request, page)


def papers_page(desk: Desk, on: date) -> PapersPage:
    found = find_plan(desk)
    return PapersPage(
        title=say("Papers of the day"),
        head=head(desk, found, formats.weekday(on), on),
        papers=day_papers(desk.problem, found.plan, on),
    )


@router.get("/papers/{day}")
def papers(request: Request, db: Db, settings: TheSettings, day: str) -> HTMLResponse:
    with db.read() as session:
        desk = load_desk(session, settings)
    return answer(request, papers_page(desk, day_or_today(day, desk)))
