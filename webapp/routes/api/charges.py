"""The scale for other software: tree, charge, what came out, what came back clean."""

from __future__ import annotations

from fastapi.responses import Response

from domain.units import Mass
from webapp.actions import melts, metal
from webapp.actions.recharging import recharge
from webapp.exchange.api.base import Done
from webapp.exchange.api.floor import ChargeWeighed, OutWeighed, Shelved, TreeWeighed
from webapp.formats import mass as written
from webapp.routes.api.common import Key, noun, told
from webapp.routes.edge import Db, TheSettings

router = noun("/flasks", "Scale")


@router.post("/{key}/tree", status_code=201, response_model=Done, summary="Write down what the tree weighs")
def tree(db: Db, settings: TheSettings, key: Key, body: TreeWeighed) -> Response:
    gross, base = (f"{mass.decimal('g', 3)} g" for mass in (body.gross, body.base))
    again = metal.weigh_tree(db, settings, key, gross, base, "")
    return told(Done(said=f"The tree of {key} is weighed.{again.words}"), 201)


@router.post("/{key}/charge", status_code=201, response_model=Done, summary="Write down what was weighed into the crucible")
def charge(db: Db, key: Key, body: ChargeWeighed) -> Response:
    with db.write() as session:
        melts.charge(session, key, body.parts, note=body.note)
    return told(Done(said=f"The charge of {key} is written down."), 201)


@router.post("/{key}/out", status_code=201, response_model=Done, summary="Write down what came out: castings, button, sprues")
def out(db: Db, key: Key, body: OutWeighed) -> Response:
    with db.write() as session:
        melts.weigh_out(session, key, body.pieces, body.back, note=body.note)
    return told(Done(said=f"What came out of {key} is written down."), 201)


@router.post("/{key}/shelf", status_code=201, response_model=Done, summary="Put clean button and sprues back on the shelf")
def shelf(db: Db, settings: TheSettings, key: Key, body: Shelved) -> Response:
    with db.write() as session:
        melts.shelve(session, key, body.clean, to_refiner=body.to_refiner)
        back = {key: Mass(0) if body.to_refiner else body.clean}
        again = recharge(session, settings, f"{written(body.clean)} of {key} came back clean", back=back).words
    where = "in the refiner's lot" if body.to_refiner else "back on the shelf"
    return told(Done(said=f"Button and sprues of {key} are {where}.{again}"), 201)
