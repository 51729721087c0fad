"""Investment powder and other consumables: what the plan uses up, what to order, what is on its way."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, Response

from domain.errors import InvalidValue
from domain.stock.consumed import OTHER, POWDER, Key
from domain.units import Money, total
from webapp.actions import supplies as actions
from webapp.actions.planning import Desk, load_desk
from webapp.pages import Page, answer, see_other
from webapp.routes.downloads import table_file
from webapp.routes.edge import Db, TheSettings, Typed
from webapp.settings import Settings
from webapp.store.engine import Database, Session
from webapp.views.prints import SheetHead
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
class SuppliesPage(Page):
    """``wrong``: whose form was not right (kind/ref of a thing, or the number of a delivery)."""

    template: ClassVar[str] = "metal/consumables.html"
    here: ClassVar[str] = "metal"

    part: str = "consumables"
    planned: bool
    currency: str
    lines: tuple[SupplyLine, ...]
    cost: Money
    coming: tuple[ComingLine, ...]
    today: str
    key: str
    wrong: str = ""
    errors: Mapping[str, str] = field(default_factory=dict)
    typed: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class SupplyDraftPage(Page):
    template: ClassVar[str] = "prints/consumables.html"
    here: ClassVar[str] = "metal"

    head: SheetHead
    currency: str
    lines: tuple[SupplyLine, ...]
    cost: Money


def lines_of(session: Session, desk: Desk) -> tuple[SupplyLine, ...]:
    return supply_lines(actions.positions(session, desk), desk.open_plan, desk.now.date())


def _page(
    request: Request,
    db: Database,
    settings: Settings,
    wrong: str = "",
    error: InvalidValue | None = None,
    typed: Mapping[str, str] = {},
) -> HTMLResponse:
    with db.read() as session:
        desk = load_desk(session, settings)
        lines, coming = lines_of(session, desk), actions.coming(session, desk)
    page = SuppliesPage(
        title="Powder and consumables",
        planned=desk.stored is not None,
        currency=desk.problem.rules.currency,
        lines=lines,
        cost=total(Money, (line.cost for line in lines)),
        coming=tuple(
            ComingLine(
                number=one.id,
                arrives=one.arrives,
                name=shelf.name,
                amount=actions.amount_words(one.amount, shelf.unit),
                typed=f"{one.amount.decimal('unit', 3).normalize():f}",
            )
            for one, shelf in coming
        ),
        today=desk.now.date().isoformat(),
        key=secrets.token_urlsafe(12),
        wrong=wrong,
        errors={error.field: str(error)} if error else {},
        typed=typed,
    )
    return answer(request, page, 422 if error else 200)


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
        return _page(request, db, settings, f"{kind}/{ref}", error, typed)


@router.post("/deliveries/{number:int}/arrived")
def arrived(request: Request, db: Db, settings: TheSettings, number: int, typed: Typed) -> Response:
    try:
        return see_other("/metal/consumables", actions.arrived(db, settings, number, typed))
    except InvalidValue as error:
        return _page(request, db, settings, str(number), error, typed)


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
        title="Order draft, powder and consumables",
        head=SheetHead(about="Consumables", day=desk.now.date(), version=desk.version, printed=desk.now),
        currency=desk.problem.rules.currency,
        lines=lines,
        cost=total(Money, (line.cost for line in lines)),
    )
    return answer(request, page)


@router.get("/list.{form}")
def listed(db: Db, settings: TheSettings, form: str) -> Response:
    with db.read() as session:
        desk = load_desk(session, settings)
        lines = lines_of(session, desk)
    return table_file(supply_records(lines, desk.problem.rules.currency), "consumables", form)
