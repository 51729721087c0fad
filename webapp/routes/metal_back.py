"""Metal that comes back: buttons and sprues, the refiner's lot, and what was lost."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from domain.saying import say
from domain.stock.loss import ENOUGH, LossSum
from domain.units import Mass, Money
from webapp.actions import metal as actions
from webapp.actions.metal import SpentLot
from webapp.actions.planning import load_desk
from webapp.pages import Page, answer, see_other
from webapp.routes.edge import Db, TheSettings, Typed
from webapp.views import metal as view
from webapp.views.loss import LossDrawing, MonthLoss, loss_drawings, month_lines, month_loss
from webapp.views.metal import ReturnLine
from webapp.views.month_bars import MonthBars, month_bars
from webapp.views.prints import SheetHead
from webapp.views.refiner import RefinerLine, fine_worth, refiner_lines

router = APIRouter()


@dataclass(frozen=True, kw_only=True)
class BackPage(Page):
    """``weighed``: by flask, what was weighed and is not back on the shelf. ``spent``: lots that should go to the
    refiner; ``pot``: what waits for the refiner, element by element, worth ``worth`` as fine metal."""

    template: ClassVar[str] = "metal/back.html"
    here: ClassVar[str] = "metal"

    part: str = "back"
    planned: bool
    currency: str
    returns: tuple[ReturnLine, ...]
    weighed: tuple[tuple[str, Mass], ...]
    spent: tuple[tuple[SpentLot, tuple[RefinerLine, ...]], ...]
    pot: Mass
    lines: tuple[RefinerLine, ...]
    worth: Money
    key: str


@dataclass(frozen=True, kw_only=True)
class RefinerPage(Page):
    template: ClassVar[str] = "prints/refiner.html"
    here: ClassVar[str] = "metal"

    head: SheetHead
    currency: str
    pot: Mass
    lines: tuple[RefinerLine, ...]
    worth: Money


@dataclass(frozen=True, kw_only=True)
class LossPage(Page):
    template: ClassVar[str] = "metal/loss.html"
    here: ClassVar[str] = "metal"

    part: str = "loss"
    lost: MonthLoss
    months: tuple[tuple[LossSum, str], ...]
    monthly: tuple[MonthBars, ...]
    drawings: tuple[LossDrawing, ...]
    enough: int = ENOUGH


@router.get("/back")
def back(request: Request, db: Db, settings: TheSettings) -> HTMLResponse:
    with db.read() as session:
        desk = load_desk(session, settings)
        spent, pot, weighed = actions.spent_lots(session, desk), actions.refiners_lot(session), actions.uncleaned(session)
    metals = desk.problem.shop.metals
    lines = refiner_lines(pot, metals)
    page = BackPage(
        title=say("Metal that comes back"),
        planned=desk.stored is not None,
        currency=desk.problem.rules.currency,
        returns=view.return_lines(desk.problem, actions.metal_of(desk).returns),
        weighed=tuple((flask, content.mass) for flask, content in weighed.items()),
        spent=tuple((one, refiner_lines(one.content, metals)) for one in spent),
        pot=pot.mass,
        lines=lines,
        worth=fine_worth(lines),
        key=secrets.token_urlsafe(12),
    )
    return answer(request, page)


@router.post("/back/{lot}/refiner")
def to_refiner(db: Db, settings: TheSettings, lot: str, typed: Typed) -> Response:
    return see_other("/metal/back", actions.to_refiner(db, settings, lot, typed.get("key", "")))


@router.get("/refiner")
def refiner(request: Request, db: Db, settings: TheSettings) -> HTMLResponse:
    """The refiner's lot on paper."""
    with db.read() as session:
        desk, pot = load_desk(session, settings), actions.refiners_lot(session)
    lines = refiner_lines(pot, desk.problem.shop.metals)
    page = RefinerPage(
        title=say("Refiner's lot"),
        head=SheetHead(about=say("Refiner"), day=desk.now.date(), version=desk.version, printed=desk.now),
        currency=desk.problem.rules.currency,
        pot=pot.mass,
        lines=lines,
        worth=fine_worth(lines),
    )
    return answer(request, page)


@router.get("/loss")
def loss(request: Request, db: Db, settings: TheSettings) -> HTMLResponse:
    with db.read() as session:
        desk = load_desk(session, settings)
        casts = actions.past_losses(session, desk)
    names, today = actions.alloy_names(desk), desk.now.date()
    usual = {a.id: a.melt_loss for a in desk.problem.shop.alloys}
    page = LossPage(
        title=say("Metal lost"),
        lost=month_loss(casts, names, today),
        months=month_lines(casts, names),
        monthly=month_bars(casts, names),
        drawings=loss_drawings(casts, names, usual),
    )
    return answer(request, page)
