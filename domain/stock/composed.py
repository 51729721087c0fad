"""What a plan's charges give, worked out again from their parts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from domain.metallurgy.charge import ComposedCharge, charge_of
from domain.metallurgy.melt import Offer, Part
from domain.planning.plan import ChargePart, FlaskCharge, From, PlannedFlask
from domain.planning.problem import Problem
from domain.saying import say
from domain.stock.offers import lot_offer, metal_offer, offer_id


def composed_charges(problem: Problem, flasks: Sequence[PlannedFlask], charges: Sequence[FlaskCharge]) -> dict[str, ComposedCharge]:
    """By flask, what its charge gives. A charge with a part that is not known any more is left out."""
    by_flask = {c.flask: c for c in charges}
    given: dict[str, ComposedCharge] = {}
    for flask in sorted(flasks, key=lambda f: f.cast_start):
        charge, melt = by_flask.get(flask.id), problem.melt.get(flask.melt)
        if charge is None or melt is None:
            continue
        offers = [_offer(problem, part, given) for part in charge.parts]
        parts = tuple(Part(offer=o, mass=p.mass) for o, p in zip(offers, charge.parts, strict=True) if o is not None)
        if parts and len(parts) == len(charge.parts):
            given[flask.id] = charge_of(melt.alloy, parts)
    return given


def _offer(problem: Problem, part: ChargePart, given: Mapping[str, ComposedCharge]) -> Offer | None:
    metals = {m.id: m for m in problem.shop.metals}
    if part.origin is From.ORDER:
        return metal_offer(metals[part.ref]) if part.ref in metals else None
    if part.origin is From.LOT:
        lot = next((known for known in problem.lots if known.id == part.ref), None)
        return lot_offer(lot, metals, lot.mass) if lot else None
    earlier = given.get(part.ref)
    if earlier is None:
        return None
    return Offer(
        id=offer_id(part.origin, part.ref),
        name=say("the returns of {flask}", flask=part.ref),
        composition=earlier.melt,
        recycled=True,
        melts=earlier.melts,
    )
