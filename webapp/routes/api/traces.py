"""Where metal went, what came back, what was lost and what it costs, for other software."""

from __future__ import annotations

from typing import Annotated, Literal

from fastapi import Path
from fastapi.responses import Response

from domain.shop.lots import Metal
from domain.stock.loss import FlaskLoss, LossSum, by_month, loss_charts
from webapp.actions import books as books_actions
from webapp.actions import metal as metals
from webapp.actions import orders
from webapp.actions.planning import load_desk
from webapp.exchange.api.base import Done
from webapp.exchange.api.record import (
    BackDocument,
    BackFromFlask,
    CustodyDocument,
    LossDocument,
    LossList,
    OddCast,
    PriceDocument,
    PriceList,
    PricesWanted,
    SpentLotDocument,
)
from webapp.problems import Refused
from webapp.routes.api.common import PLAIN, noun, told
from webapp.routes.edge import Db, TheSettings
from webapp.store import nouns
from webapp.store.week import load_rules

router = noun("/metal", "Metal")
custody = noun("/books/where", "Books")
Way = Annotated[Literal["back", "forth"], Path(description="back to where it came from, forth to where it went")]
Kind = Annotated[str, Path(max_length=40, pattern=PLAIN, description="Kind of account, as in the entries")]
Ref = Annotated[str, Path(max_length=400, pattern=PLAIN, description="Which of that kind; a dash for the only one")]


@router.get("/prices", response_model=PriceList, summary="Read what metal costs")
def prices(db: Db) -> Response:
    with db.read() as session:
        metal, currency = nouns.all_of(session, Metal), load_rules(session).currency
    items = (PriceDocument(metal=m.id, name=m.name, price=float(m.price.decimal("unit", 2)), mass=m.price_mass) for m in metal)
    return told(PriceList(currency=currency, items=tuple(items)))


@router.put("/prices", response_model=Done, summary="Set what metal costs")
def set_prices(db: Db, body: PricesWanted) -> Response:
    typed = {f"price-{one.metal}": f"{one.price:.2f}" for one in body.items}
    typed |= {f"per-{one.metal}": one.per for one in body.items}
    with db.write() as session:
        known = {metal.id for metal in nouns.all_of(session, Metal)}
        errors = {one.metal: "the shop knows no such metal" for one in body.items if one.metal not in known}
        errors = errors or {name.removeprefix("price-"): text for name, text in orders.set_prices(session, typed).items()}
        if errors:
            raise Refused(422, "Nothing was changed: something in the prices is wrong.", errors=errors)
    return told(Done(said="The prices are saved."))


@router.get("/back", response_model=BackDocument, summary="Read what came back, and what should go to the refiner")
def back(db: Db, settings: TheSettings) -> Response:
    with db.read() as session:
        desk = load_desk(session, settings)
        spent, pot, weighed = metals.spent_lots(session, desk), metals.refiners_lot(session), metals.uncleaned(session)
    answer = BackDocument(
        weighed=tuple(BackFromFlask(flask=flask, mass=content.mass) for flask, content in weighed.items()),
        spent=tuple(SpentLotDocument(lot=one.lot.id, mass=one.lot.mass, why=one.why) for one in spent),
        refiner=pot.mass,
    )
    return told(answer)


@router.get("/loss", response_model=LossList, summary="Read what was lost, by month and alloy")
def loss(db: Db, settings: TheSettings) -> Response:
    with db.read() as session:
        casts = metals.past_losses(session, load_desk(session, settings))
    odd = (one for chart in loss_charts(casts) for one in chart.outliers)
    return told(LossList(items=tuple(map(_loss, by_month(casts))), odd=tuple(map(_odd, odd))))


@custody.get("/{way}/{kind}/{ref:path}", response_model=CustodyDocument, summary="Follow an account's metal through the books")
def where(db: Db, way: Way, kind: Kind, ref: Ref) -> Response:
    with db.read() as session:
        followed = books_actions.follow(session, books_actions.account_of(kind, ref), back=way == "back")
    return told(CustodyDocument.model_validate(books_actions.custody_document(followed)))


def _loss(line: LossSum) -> LossDocument:
    return LossDocument(
        month=line.month,
        alloy=line.alloy,
        flasks=line.flasks,
        charged=line.charged,
        castings=line.castings,
        returned=line.returned,
        lost=float(line.lost.to("g")),
        share_ppm=line.share.base,
    )


def _odd(cast: FlaskLoss) -> OddCast:
    return OddCast(flask=cast.flask, alloy=cast.alloy, day=cast.day.isoformat(), share_ppm=cast.share.base)
