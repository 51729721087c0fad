"""Investment powder and other consumables: what the plan uses up, what to order, what is on its way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, Response

from domain.errors import InvalidValue
from domain.saying import say
from domain.stock.consumed import OTHER, POWDER, Key
from domain.units import Money, total
from webapp.actions import supplies as actions
from webapp.actions.planning import Desk, load_desk
from webapp.formats import amount_typed
from webapp.pages import answer, see_other
from webapp.routes.downloads import table_file
from webapp.routes.edge import Db, TheSettings, Typed
from webapp.routes.ordering import DraftPage, OrderingPage, Refused, draft_of, ordering
from webapp.settings import Settings
from webapp.store.engine import Database, Session
from webapp.views.supplies import SupplyLine, supply_lines, supply_records

router = APIRouter(prefix="/consumables")


@dataclass(frozen=True, slots=True, kw_only=True)
class ComingLine:
    number: int
    arrives: str
    name: str
    amount: str
    typed: str


@dataclass(frozen=True, kw_only=True)
class SuppliesPage(OrderingPage):
    """``wrong``: kind/ref of a thing, or the number of a delivery."""

    template: ClassVar[str] = "metal/consumables.html"

    part: str = "consumables"
    lines: tuple[SupplyLine, ...]
    coming: tuple[ComingLine, ...]


@dataclass(frozen=True, kw_only=True)
class SupplyDraftPage(DraftPage):
    template: ClassVar[str] = "prints/consumables.html"

    lines: tuple[SupplyLine, ...]


def lines_of(session: Session, desk: Desk) -> tuple[SupplyLine, ...]:
    return supply_lines(actions.positions(session, desk), desk.open_plan, desk.now.date())


def _page(request: Request, db: Database, settings: Settings, refused: Refused | None = None) -> HTMLResponse:
    with db.read() as session:
        desk = load_desk(session, settings)
        lines, coming = lines_of(session, desk), actions.coming(session, desk)
    page = SuppliesPage(
        title=say("Powder and consumables"),
        **ordering(desk, total(Money, (line.cost for line in lines)), refused),
        lines=lines,
        coming=tuple(
            ComingLine(
                number=one.id,
                arrives=one.arrives,
                name=shelf.name,
                amount=actions.amount_words(one.amount, shelf.unit),
                typed=amount_typed(one.amount, shelf.unit),
            )
            for one, shelf in coming
        ),
    )
    return answer(request, page, 422 if refused else 200)


@router.get("")
def consumables(request: Request, db: Db, settings: TheSettings) -> HTMLResponse:
    return _page(request, db, settings)


@router.post("/{kind}/{ref}/ordered")
def ordered(request: Request, db: Db, settings: TheSettings, kind: str, ref: str, typed: Typed) -> Response:
    if kind not in (POWDER, OTHER):
        raise HTTPException(404)
    try:
        return see_other("/metal/consumables", actions.order(db, settings, Key(kind, ref), typed))
    except InvalidValue as error:
        return _page(request, db, settings, Refused(f"{kind}/{ref}", error, typed))


@router.post("/deliveries/{number:int}/arrived")
def arrived(request: Request, db: Db, settings: TheSettings, number: int, typed: Typed) -> Response:
    try:
        return see_other("/metal/consumables", actions.arrived(db, settings, number, typed))
    except InvalidValue as error:
        return _page(request, db, settings, Refused(str(number), error, typed))


@router.post("/deliveries/{number:int}/take-back")
def take_back(db: Db, number: int) -> Response:
    return see_other("/metal/consumables", actions.take_back(db, number))


@router.get("/draft")
def draft(request: Request, db: Db, settings: TheSettings) -> HTMLResponse:
    """On paper, for the supplier."""
    with db.read() as session:
        desk = load_desk(session, settings)
        lines = tuple(line for line in lines_of(session, desk) if line.position.order.base)
    page = SupplyDraftPage(
        title=say("Order draft, powder and consumables"),
        **draft_of(desk, say("Consumables"), total(Money, (line.cost for line in lines))),
        lines=lines,
    )
    return answer(request, page)


@router.get("/list.{form}")
def listed(db: Db, settings: TheSettings, form: str) -> Response:
    with db.read() as session:
        desk = load_desk(session, settings)
        lines = lines_of(session, desk)
    return table_file(supply_records(lines, desk.problem.rules.currency), "consumables", form)
