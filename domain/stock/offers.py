"""Which metal may be offered to a melt, from the shelf and from suppliers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction

from domain.metallurgy.melt import Offer, fraction
from domain.planning.plan import From
from domain.shop.alloy import Alloy
from domain.shop.lots import Lot, Metal, MetalKind
from domain.units import Mass, Share

USED_FIRST = Fraction(98, 100)
"""Recycled metal counts a little less than it stands for in the books, as the refiner would pay
less for it: it is used up before fresh metal of the same cost. Common practice, no source."""


def recycled_limit(own_lot: str | None) -> Share | None:
    """What replaces the alloy's limit on recycled metal. A customer's own metal is cast from itself
    alone, however often it was cast before; its melt count still counts."""
    return None if own_lot is None else Share.percent(100)


def offer_id(origin: From, ref: str) -> str:
    return f"{origin}:{ref}"


def origin_of(offer: Offer) -> tuple[From, str]:
    """Where an offer comes from: the inverse of ``offer_id``."""
    origin, _, ref = offer.id.partition(":")
    return From(origin), ref


def is_recycled(lot: Lot) -> bool:
    """Metal that was cast here counts as recycled, whatever its label says."""
    return lot.kind is MetalKind.RECYCLED or lot.melts > 0


def suits(lot: Lot, alloy: Alloy, own_lot: str | None, owned: Iterable[str] = ()) -> bool:
    """Whether a lot may go into a melt at all. A customer's own metal goes into its own melt alone;
    recycled metal and casting grain only into the alloy that they are; metal of unknown alloy that
    was cast before goes to the refiner."""
    if own_lot is not None:
        return lot.id == own_lot
    if lot.owner_job is not None or lot.id in owned:
        return False
    return lot.alloy == alloy.id if is_recycled(lot) else lot.alloy in (None, alloy.id)


def made_for(metal: Metal | None, alloy: Alloy) -> bool:
    """Whether a master alloy's family is the alloy's. A bench does not stretch silver with the master
    alloy for red gold, cheap as it may be; common practice, no source."""
    return metal is None or metal.family in (None, alloy.family)


def is_here(lot: Lot, day: date) -> bool:
    """Whether a lot is on the shelf on ``day``, or was delivered by then."""
    return not lot.arrives or lot.arrives <= day.isoformat()


def lot_offer(lot: Lot, metals: Mapping[str, Metal], left: Mass) -> Offer:
    """A lot as an offer of ``left``; where the books have no cost, the metal's price stands in."""
    recycled = is_recycled(lot)
    metal = metals.get(lot.metal or "")
    cost = Fraction(lot.cost.base) if lot.cost.base or metal is None else price(metal)
    return Offer(
        id=offer_id(From.LOT, lot.id),
        name=lot.name,
        composition=shares(lot.composition),
        available=left,
        cost=cost * USED_FIRST if recycled else cost,
        recycled=recycled,
        melts=lot.melts,
    )


def metal_offer(metal: Metal) -> Offer:
    """As much of a metal as is wanted, from its supplier."""
    return Offer(
        id=offer_id(From.ORDER, metal.id), name=metal.name, composition=shares(metal.composition), cost=price(metal), to_order=True
    )


def price(metal: Metal) -> Fraction:
    """Cents a gram."""
    return Fraction(metal.price.base) / metal.price_mass.to("g")


def shares(composition: Mapping[str, Share]) -> dict[str, Fraction]:
    return {element: fraction(share) for element, share in composition.items()}


def shelf_offers(
    alloy: Alloy,
    own_lot: str | None,
    lots: Iterable[Lot],
    left: Mapping[str, Mass],
    metals: Iterable[Metal],
    owned: Iterable[str] = (),
) -> list[Offer]:
    """What lots offer to a melt, the oldest recycled first. ``left``: what of each lot is not yet promised."""
    known = {m.id: m for m in metals}
    suitable = [lot for lot in lots if suits(lot, alloy, own_lot, owned) and left[lot.id].base > 0]
    suitable = [lot for lot in suitable if own_lot or made_for(known.get(lot.metal or ""), alloy)]
    by_age = sorted(suitable, key=lambda lot: (lot.since or "9999", lot.id))
    return oldest_first([lot_offer(lot, known, left[lot.id]) for lot in by_age])


def oldest_first(offers: Sequence[Offer]) -> list[Offer]:
    """Offers whose recycled metal is used in the order given: one cost for all of it, so that age
    and not the books decides."""
    cost = min((o.cost for o in offers if o.recycled), default=Fraction(0))
    return [replace(o, age=n, cost=cost) if o.recycled else o for n, o in enumerate(offers)]


def supplier_offers(alloy: Alloy, metals: Iterable[Metal]) -> list[Offer]:
    """What suppliers offer to a melt: fine metals, master alloys, and its own casting grain."""
    return [metal_offer(m) for m in metals if m.lead_days is not None and m.alloy in (None, alloy.id) and made_for(m, alloy)]
