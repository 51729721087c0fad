"""The week on one page for the wall."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from domain.saying import say
from webapp.actions.planning import Desk, day_or_today, load_desk
from webapp.actions.prints import find_plan, head
from webapp.pages import Page, answer
from webapp.routes.edge import Db, TheSettings
from webapp.views.prints import SheetHead
from webapp.views.wall import Wall, monday_of, wall_of

router = APIRouter(prefix="/print")


@dataclass(frozen=True, kw_only=True)
class WallPage(Page):
    template: ClassVar[str] = "prints/wall.html"
    here: ClassVar[str] = "week"
    head: SheetHead
    wall: Wall


def wall_page(desk: Desk, shown: date) -> WallPage:
    found = find_plan(desk)
    return WallPage(
        title=say("The week for the wall"),
        head=head(desk, found, say("Week {week}", week=shown.isocalendar().week), monday_of(shown)),
        wall=wall_of(desk.problem, found.plan, shown),
    )


@router.get("/week/{day}")
def wall(request: Request, db: Db, settings: TheSettings, day: str) -> HTMLResponse:
    with db.read() as session:
        desk = load_desk(session, settings)
    return answer(request, wall_page(desk, day_or_today(day, desk)))
