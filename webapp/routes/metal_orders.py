"""Metal to order: the list, the draft for the supplier, what is on its way, and prices."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import ClassVar

from fastapi import APIRouter, Request, UploadFile
from fastapi.responses import HTMLResponse, Response

from domain.errors import InvalidValue
from domain.saying import say
from domain.shop.lots import Metal
from domain.units import Money, total
from webapp.actions import orders as actions
from webapp.actions.orders import PER, OnItsWay
from webapp.actions.planning import load_desk
from webapp.pages import Page, answer, see_other
from webapp.routes.downloads import table_file
from webapp.routes.edge import Db, TheSettings, Typed
from webapp.routes.ordering import DraftPage, OrderingPage, Refused, draft_of, ordering
from webapp.settings import Settings
from webapp.store import nouns
from webapp.store.engine import Database
from webapp.store.metal_orders import MetalOrdered
from webapp.store.week import load_rules
from webapp.views import metal as view
from webapp.views.metal import OrderLine, PriceRow, price_row

router = APIRouter()
LARGEST = 500_000
"""bytes of a list of prices"""


@dataclass(frozen=True, kw_only=True)
class OrdersPage(OrderingPage):
    """``wrong``: a metal or a lot. ``closed``: orders that arrived or were cancelled, with the metal's name, in local
    time."""

    template: ClassVar[str] = "metal/orders.html"

    part: str = "order"
    lines: tuple[OrderLine, ...]
    coming: tuple[OnItsWay, ...]
    closed: tuple[tuple[MetalOrdered, str], ...]


@dataclass(frozen=True, kw_only=True)
class OrderDraftPage(DraftPage):
    template: ClassVar[str] = "prints/order.html"

    lines: tuple[OrderLine, ...]


@dataclass(frozen=True, kw_only=True)
class PricesPage(Page):
    """``trouble``: rows of a list that were not taken; ``taken``: how many prices it changed, none without a list."""

    template: ClassVar[str] = "metal/prices.html"
    here: ClassVar[str] = "metal"

    part: str = "prices"
    currency: str
    rows: tuple[PriceRow, ...]
    errors: Mapping[str, str] = field(default_factory=dict)
    trouble: tuple[str, ...] = ()
    taken: int | None = None


def _orders(request: Request, db: Database, settings: Settings, refused: Refused | None = None) -> HTMLResponse:
    with db.read() as session:
        desk, coming, closed = load_desk(session, settings), actions.on_the_way(session), actions.closed_orders(session)
    lines, zone = view.order_lines(desk.problem, desk.open_plan, desk.now.date()), desk.problem.clock.timezone
    page = OrdersPage(
        title=say("Metal to order"),
        **ordering(desk, total(Money, (line.cost for line in lines)), refused),
        lines=lines,
        coming=tuple(replace(one, order=view.local_order(one.order, zone) if one.order else None) for one in coming),
        closed=tuple((view.local_order(one, zone), name) for one, name in closed),
    )
    return answer(request, page, 422 if refused else 200)


@router.get("/order")
def orders(request: Request, db: Db, settings: TheSettings) -> HTMLResponse:
    return _orders(request, db, settings)


@router.post("/order/{metal}/ordered")
def ordered(request: Request, db: Db, settings: TheSettings, metal: str, typed: Typed) -> Response:
    try:
        return see_other("/metal/order", actions.order(db, settings, metal, typed))
    except InvalidValue as error:
        return _orders(request, db, settings, Refused(metal, error, typed))


@router.post("/order/{lot}/arrived")
def arrived(request: Request, db: Db, settings: TheSettings, lot: str, typed: Typed) -> Response:
    try:
        return see_other("/metal/order", actions.arrived(db, settings, lot, typed))
    except InvalidValue as error:
        return _orders(request, db, settings, Refused(lot, error, typed))


@router.post("/order/{lot}/cancel")
def cancel(db: Db, settings: TheSettings, lot: str) -> Response:
    return see_other("/metal/order", actions.cancel(db, settings, lot))


@router.get("/order/draft")
def draft(request: Request, db: Db, settings: TheSettings) -> HTMLResponse:
    """On paper, for the supplier."""
    with db.read() as session:
        desk = load_desk(session, settings)
    lines = view.order_lines(desk.problem, desk.open_plan, desk.now.date())
    page = OrderDraftPage(
        title=say("Order draft"),
        **draft_of(desk, say("Metal"), total(Money, (line.cost for line in lines))),
        lines=lines,
    )
    return answer(request, page)


@router.get("/order.{form}")
def order_list(db: Db, settings: TheSettings, form: str) -> Response:
    with db.read() as session:
        desk = load_desk(session, settings)
    lines = view.order_lines(desk.problem, desk.open_plan, desk.now.date())
    return table_file(view.order_records(lines, desk.problem.rules.currency), "metal-order", form)


def _prices(
    request: Request,
    db: Database,
    status: int = 200,
    *,
    typed: Mapping[str, str] = {},
    errors: Mapping[str, str] = {},
    trouble: tuple[str, ...] = (),
    taken: int | None = None,
) -> HTMLResponse:
    with db.read() as session:
        metals, currency = nouns.all_of(session, Metal), load_rules(session).currency
    rows = tuple(price_row(metal, PER, typed, errors) for metal in metals)
    page = PricesPage(title=say("Prices of metal"), currency=currency, rows=rows, errors=errors, trouble=trouble, taken=taken)
    return answer(request, page, status)


@router.get("/prices")
def prices(request: Request, db: Db) -> HTMLResponse:
    return _prices(request, db)


@router.post("/prices")
def set_prices(request: Request, db: Db, typed: Typed) -> Response:
    with db.write() as session:
        errors = actions.set_prices(session, typed)
    if errors:
        return _prices(request, db, 422, typed=typed, errors=errors)
    return see_other("/metal/prices", say("The prices are saved."))


@router.post("/prices/list")
def bring_prices(request: Request, db: Db, file: UploadFile) -> Response:
    data = file.file.read(LARGEST + 1)
    if len(data) > LARGEST:
        return _prices(request, db, 422, trouble=(say("The file is larger than 0.5 MB; a list of prices is not."),))
    try:
        with db.write() as session:
            read = actions.import_prices(session, data)
    except InvalidValue as error:
        return _prices(request, db, 422, trouble=(str(error),))
    return _prices(request, db, 422 if read.trouble else 200, trouble=read.trouble, taken=read.changed)
