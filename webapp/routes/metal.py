"""Metal: the owner's five questions, then every metal over the coming days; powder drawn down by the week."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import ClassVar

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from domain.planning.plan import LeftOut
from domain.saying import say
from domain.stock.week_charges import Shortage
from domain.units import Money, total
from webapp.actions.metal import alloy_names, in_the_way, metal_of, past_losses, spent_lots
from webapp.actions.planning import load_desk
from webapp.pages import Page, answer
from webapp.routes import metal_back, metal_charges, metal_orders, supplies
from webapp.routes.edge import Db, TheSettings
from webapp.views import metal as view
from webapp.views.loss import MonthLoss, month_loss
from webapp.views.metal import USED, BackSum, FlaskMetal, MetalLine, OrderLine
from webapp.views.position import PositionDrawing, position_drawing
from webapp.views.supplies import SupplyLine

router = APIRouter(prefix="/metal")
router.include_router(metal_orders.router)
router.include_router(metal_back.router)
router.include_router(metal_charges.router)
router.include_router(supplies.router)

WEEK = timedelta(days=6)


@dataclass(frozen=True, kw_only=True)
class MetalPage(Page):
    """``until``: the last day that the plan looks ahead to. ``due``: orders whose last day is today or has passed,
    ``later``: the others. ``back`` until ``back_until``. ``short``: flasks without a charge; ``out``: jobs left out
    for want of metal.
    ``refiner_lots``: how many lots should go to the refiner."""

    template: ClassVar[str] = "metal/metal.html"
    here: ClassVar[str] = "metal"

    part: str
    planned: bool
    currency: str
    until: str
    due: tuple[OrderLine, ...]
    later: tuple[OrderLine, ...]
    due_cost: Money
    cost: Money
    back: tuple[BackSum, ...]
    back_until: date
    lost: MonthLoss
    short: tuple[Shortage, ...]
    out: tuple[LeftOut, ...]
    refiner_lots: int
    drawings: tuple[PositionDrawing, ...]
    metals: tuple[MetalLine, ...]
    flasks: tuple[FlaskMetal, ...]
    supplies: tuple[SupplyLine, ...]


@router.get("")
def metal(request: Request, db: Db, settings: TheSettings) -> HTMLResponse:
    with db.read() as session:
        desk = load_desk(session, settings)
        casts, spent = past_losses(session, desk), spent_lots(session, desk)
        used_up = supplies.lines_of(session, desk)
    week, problem, plan, today = metal_of(desk), desk.problem, desk.open_plan, desk.now.date()
    orders = view.order_lines(problem, plan, today)
    due = tuple(line for line in orders if line.due)
    metals = view.metal_lines(week)
    page = MetalPage(
        title=say("Metal"),
        part="metal",
        planned=desk.stored is not None,
        currency=problem.rules.currency,
        until=problem.days[-1].date,
        due=due,
        later=tuple(line for line in orders if not line.due),
        due_cost=total(Money, (*(line.cost for line in due), *(line.cost for line in used_up if line.due))),
        cost=total(Money, (*(line.cost for line in orders), *(line.cost for line in used_up))),
        back=view.back_sums(view.return_lines(problem, week.returns), today + WEEK),
        back_until=today + WEEK,
        lost=month_loss(casts, alloy_names(desk), today),
        short=in_the_way(desk),
        out=tuple(entry for entry in plan.left_out if entry.rule == 9),
        refiner_lots=len(spent),
        drawings=tuple(position_drawing(line.position) for line in metals if line.use == USED),
        metals=metals,
        flasks=view.flask_metals(problem, plan),
        supplies=used_up,
    )
    return answer(request, page)
