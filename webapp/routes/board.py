"""The board on the wall."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from domain.saying import say
from webapp.actions.planning import load_desk
from webapp.pages import Page, answer
from webapp.routes.edge import Db, TheSettings
from webapp.views.board import BoardFlask, BoardTask, todays_tasks, weeks_flasks

router = APIRouter(prefix="/board")


@dataclass(frozen=True, kw_only=True)
class BoardPage(Page):
    template: ClassVar[str] = "people/board.html"

    now: datetime
    tasks: tuple[BoardTask, ...]
    flasks: tuple[BoardFlask, ...]


@router.get("")
def board(request: Request, db: Db, settings: TheSettings) -> HTMLResponse:
    with db.read() as session:
        desk = load_desk(session, settings)
    problem, plan = desk.problem, desk.plan
    tasks = todays_tasks(problem, plan, desk.stages, desk.now) if plan else ()
    flasks = weeks_flasks(problem, plan, desk.stages, desk.now.date()) if plan else ()
    return answer(request, BoardPage(title=say("Board"), now=desk.now, tasks=tasks, flasks=flasks))
