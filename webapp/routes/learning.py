"""What the record says about the shop, and what is made of it."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from domain.errors import DomainError
from domain.floor.learning import ENOUGH, LONGEST, RECENT
from domain.saying import say
from webapp.actions import learning as actions
from webapp.pages import Page, answer, see_other
from webapp.routes.doors import DESK, TheWho
from webapp.routes.edge import Db, Typed
from webapp.routes.once import Once
from webapp.store.week import load_rules
from webapp.views import learning as view
from webapp.views.learning import Ask, DecisionLine, GroupLine, HeatTable, SpreadLine

router = APIRouter(prefix="/learning", route_class=Once)


@dataclass(frozen=True, kw_only=True)
class LearningPage(Page):
    """``casts``: how many are looked at. ``may_decide``: the reader may take a suggestion over. ``held``: why nothing
    was changed."""

    template: ClassVar[str] = "learning/learning.html"
    here: ClassVar[str] = "learning"

    casts: int
    asks: tuple[Ask, ...]
    minutes: tuple[SpreadLine, ...]
    losses: tuple[SpreadLine, ...]
    groups: tuple[GroupLine, ...]
    heats: tuple[HeatTable, ...]
    decisions: tuple[DecisionLine, ...]
    may_decide: bool
    enough: int = ENOUGH
    recent: int = RECENT
    longest: int = LONGEST
    key: str
    held: str = ""


@router.get("")
def learning(request: Request, db: Db, who: TheWho) -> HTMLResponse:
    return answer(request, _page(db, who))


@router.post("")
def decide(request: Request, db: Db, who: TheWho, typed: Typed) -> Response:
    accept = typed.get("answer") == "yes"
    try:
        with db.write() as session:
            found = actions.decide(
                session, typed.get("mark", ""), accept=accept, who=who.name if who.account else "", note=typed.get("note", "")
            )
    except DomainError as error:
        return answer(request, _page(db, who, str(error)), 422)
    words = view.WORDS[found.what]
    if accept:
        return see_other(
            "/learning",
            say("From the next plan on: {use} instead of {planned}.", use=words(found.use), planned=words(found.planned)),
        )
    return see_other(
        "/learning", say("{planned} stays. It is asked again when the record has changed noticeably.", planned=words(found.planned))
    )


def _page(db: Db, who: TheWho, held: str = "") -> LearningPage:
    with db.read() as session:
        record, timezone = actions.read_record(session), load_rules(session).timezone
    return LearningPage(
        title=say("What the record says"),
        casts=len(record.facts),
        asks=view.asks(record),
        minutes=view.minute_lines(record),
        losses=view.loss_lines(record),
        groups=view.group_lines(record),
        heats=view.heat_tables(record),
        decisions=view.decision_lines(record, timezone),
        may_decide=who.role in DESK,
        key=secrets.token_urlsafe(12),
        held=held,
    )
