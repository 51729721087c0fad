"""Metal: needed, in stock, to order and by when, coming back; powder drawn down by the week."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from domain.shop.lots import Lot
from domain.units import Money, total
from webapp.actions.metal import invested, metal_of
from webapp.actions.planning import load_desk
from webapp.pages import Page, answer
from webapp.routes.edge import Db, TheSettings
from webapp.views import metal as view
from webapp.views.metal import FlaskMetal, MetalLine, OrderLine, PowderLine, ReturnLine

router = APIRouter(prefix="/metal")


@dataclass(frozen=True, kw_only=True)
class MetalPage(Page):
    """``until``: the last day that the plan looks ahead to. ``refiner``: lots that have been melted as
    often as their alloy allows."""

    template: ClassVar[str] = "metal/metal.html"
    here: ClassVar[str] = "metal"

    planned: bool
    currency: str
    until: str
    orders: tuple[OrderLine, ...]
    cost: Money
    metals: tuple[MetalLine, ...]
    flasks: tuple[FlaskMetal, ...]
    returns: tuple[ReturnLine, ...]
    refiner: tuple[Lot, ...]
    powders: tuple[PowderLine, ...]


@router.get("")
def metal(request: Request, db: Db, settings: TheSettings) -> HTMLResponse:
    with db.read() as session:
        desk = load_desk(session, settings)
    week, problem, plan, today = metal_of(desk), desk.problem, desk.open_plan, desk.now.date()
    orders = view.order_lines(problem, plan, today)
    page = MetalPage(
        title="Metal",
        planned=desk.stored is not None,
        currency=problem.rules.currency,
        until=problem.days[-1].date,
        orders=orders,
        cost=total(Money, (line.cost for line in orders)),
        metals=view.metal_lines(week),
        flasks=view.flask_metals(problem, plan),
        returns=view.return_lines(problem, week.returns),
        refiner=week.refiner,
        powders=view.powder_lines(problem, plan, desk.week.powders, invested(desk), today),
    )
    return answer(request, page)
