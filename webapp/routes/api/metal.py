"""Metal and consumables for other software: position, what to order, what is on its way."""

from __future__ import annotations

from fastapi.responses import Response

from domain.stock.consumed import Key as Thing
from domain.stock.consumed import SupplyPosition
from domain.units import Money
from webapp.actions import metal as metals
from webapp.actions import orders, supplies
from webapp.actions.orders import OnItsWay
from webapp.actions.planning import Desk, load_desk
from webapp.exchange.api.base import Done
from webapp.exchange.api.stock import (
    ComingDocument,
    DeliveryDocument,
    MetalCame,
    MetalDocumentOfWeek,
    MetalPositionDocument,
    MetalWanted,
    SupplyCame,
    SupplyDocument,
    SupplyList,
    SupplyWanted,
    ToOrderDocument,
)
from webapp.routes.api.common import Key, Number, noun, told
from webapp.routes.edge import Db, TheSettings
from webapp.store.engine import Session
from webapp.views import metal as view
from webapp.views.metal import MetalLine, OrderLine

router = noun("/metal", "Metal")


@router.get("", response_model=MetalDocumentOfWeek, summary="Read the metal of the week: needed, there, to order, on its way")
def week(db: Db, settings: TheSettings) -> Response:
    with db.read() as session:
        desk = load_desk(session, settings)
        coming = orders.on_the_way(session)
    lines = view.metal_lines(metals.metal_of(desk))
    answer = MetalDocumentOfWeek(
        currency=desk.problem.rules.currency,
        positions=tuple(map(_position, lines)),
        to_order=tuple(map(_to_order, view.order_lines(desk.problem, desk.open_plan, desk.now.date()))),
        coming=tuple(map(_coming, coming)),
    )
    return told(answer)


@router.post("/orders", status_code=201, response_model=Done, summary="Write down that metal was ordered")
def order(db: Db, settings: TheSettings, body: MetalWanted) -> Response:
    typed = {"mass": f"{body.mass.decimal('g', 3)} g", "arrives": body.arrives, "price": _price(body.price)}
    return told(Done(said=orders.order(db, settings, body.metal, typed)), 201)


@router.post("/orders/{key}/arrived", status_code=201, response_model=Done, summary="Write down that ordered metal is here")
def arrived(db: Db, settings: TheSettings, key: Key, body: MetalCame) -> Response:
    typed = {"mass": f"{body.mass.decimal('g', 3)} g", "rest": body.rest or ""}
    return told(Done(said=orders.arrived(db, settings, key, typed)), 201)


@router.delete("/orders/{key}", response_model=Done, summary="Write down that ordered metal does not come")
def cancel(db: Db, settings: TheSettings, key: Key) -> Response:
    return told(Done(said=orders.cancel(db, settings, key)))


@router.post("/lots/{key}/refiner", status_code=201, response_model=Done, summary="Put a lot into the refiner's lot")
def refiner(db: Db, settings: TheSettings, key: Key) -> Response:
    return told(Done(said=metals.to_refiner(db, settings, key, "")), 201)


@router.get("/consumables", response_model=SupplyList, summary="Read powder and consumables: there, needed, to order")
def consumables(db: Db, settings: TheSettings) -> Response:
    with db.read() as session:
        desk = load_desk(session, settings)
        return told(SupplyList(items=_supplies(supplies.positions(session, desk)), deliveries=_deliveries(session, desk)))


@router.post(
    "/consumables/orders", status_code=201, response_model=Done, summary="Write down that powder or a consumable was ordered"
)
def order_supply(db: Db, settings: TheSettings, body: SupplyWanted) -> Response:
    typed = {"amount": f"{body.amount.decimal('unit', 3)}", "arrives": body.arrives, "price": _price(body.price)}
    return told(Done(said=supplies.order(db, settings, Thing(body.kind, body.ref), typed)), 201)


@router.post("/consumables/orders/{number}/arrived", status_code=201, response_model=Done, summary="Write down that it is here")
def supply_arrived(db: Db, settings: TheSettings, number: Number, body: SupplyCame) -> Response:
    return told(Done(said=supplies.arrived(db, settings, number, {"amount": f"{body.amount.decimal('unit', 3)}"})), 201)


@router.delete("/consumables/orders/{number}", response_model=Done, summary="Write down that it does not come")
def supply_cancelled(db: Db, number: Number) -> Response:
    return told(Done(said=supplies.take_back(db, number)))


def _price(price: Money | None) -> str:
    return "" if price is None else f"{price.decimal('unit', 2)}"


def _position(line: MetalLine) -> MetalPositionDocument:
    position = line.position
    return MetalPositionDocument(
        key=position.key,
        name=position.name,
        shelf=line.shelf,
        needed=line.needed,
        delivered=line.delivered,
        returned=line.returned,
        low=float(position.low.to("g")),
        low_day=position.low_day,
    )


def _to_order(line: OrderLine) -> ToOrderDocument:
    order = line.order
    return ToOrderDocument(
        metal=order.metal,
        name=line.name,
        needed=order.needed,
        mass=order.mass,
        cost=line.cost,
        order_by=order.order_by,
        arrives=order.arrives,
        flasks=order.flasks,
    )


def _coming(one: OnItsWay) -> ComingDocument:
    lot = one.lot
    return ComingDocument(lot=lot.id, name=lot.name, metal=lot.metal, mass=lot.mass, arrives=lot.arrives or "")


def _supplies(positions: tuple[SupplyPosition, ...]) -> tuple[SupplyDocument, ...]:
    return tuple(
        SupplyDocument(
            kind=one.shelf.key.kind,
            ref=one.shelf.key.ref,
            name=one.shelf.name,
            unit=one.shelf.unit,
            amount=one.shelf.amount,
            needed=one.needed,
            coming=one.coming,
            order=one.order,
            cost=one.cost,
            order_by=one.order_by.isoformat() if one.order_by else None,
        )
        for one in positions
    )


def _deliveries(session: Session, desk: Desk) -> tuple[DeliveryDocument, ...]:
    return tuple(
        DeliveryDocument(number=one.id, kind=one.key.kind, ref=one.key.ref, name=shelf.name, amount=one.amount, arrives=one.arrives)
        for one, shelf in supplies.coming(session, desk)
    )
