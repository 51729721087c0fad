"""The cheapest purchase that mends a charge which cannot be composed: what, how much, by when, at what cost."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from domain.metallurgy.blend import Asked, alloy_rows, capacity, obstacle
from domain.metallurgy.charge import STEPS_OVER
from domain.metallurgy.charge_lp import Program, Row, SolverFailed, minimise
from domain.metallurgy.charge_why import grams
from domain.metallurgy.melt import Offer, Part, holds
from domain.planning.calendar import arrival
from domain.planning.explain.words import day_words
from domain.saying import listed, say
from domain.shop.alloy import Alloy
from domain.shop.lots import Metal
from domain.shop.shop import Shop
from domain.stock.offers import made_for, metal_offer
from domain.units import Mass, Money, total

MILLIONTH = Fraction(1, 1_000_000)
"""of a cent: a pack that costs nothing is still not bought for nothing"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bought:
    """So many whole packs of a metal. ``here``: ISO date on which it arrives when it is ordered today."""

    metal: str
    name: str
    mass: Mass
    cost: Money
    here: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase:
    """``needed``: ISO date by which all of it must be on the shelf. ``here``: when it is, ordered today;
    after ``needed`` where no supplier is quick enough."""

    metals: tuple[Bought, ...]
    needed: str
    here: str

    @property
    def cost(self) -> Money:
        return total(Money, (b.cost for b in self.metals))

    @property
    def in_time(self) -> bool:
        return self.here <= self.needed


def cheapest_purchase(shop: Shop, asked: Asked, offers: Sequence[Offer], today: date, needed: date) -> Purchase | None:
    """The least that whole packs cost which, with what is offered already, make the charge; none where nothing
    that suppliers bring does.

    Metal that could be here by ``needed`` is bought before metal that could not. ``offers``: metal on the shelf
    and on its way that is promised to nobody else.
    """
    there = [o for o in offers if not o.to_order and obstacle(asked.alloy, o) is None]
    sold = [m for m in shop.metals if _sold_for(asked.alloy, m)]
    quick = [m for m in sold if arrival(shop, today, m.lead_days or 0) <= needed]
    for metals in (quick, sold):
        packs = _packs(asked, there, metals)
        if packs is not None:
            bought = tuple(_bought(shop, m, n, today) for m, n in zip(metals, packs, strict=True) if n)
            here = max((b.here for b in bought), default=today.isoformat())
            return Purchase(metals=bought, needed=needed.isoformat(), here=here)
    return None


def purchase_words(purchase: Purchase, currency: str) -> str:
    """What to buy, by when it must be here, and when it would be."""
    metals = [say("{mass} of {metal}", mass=grams(b.mass), metal=b.name) for b in purchase.metals]
    cost = f"{purchase.cost.decimal('unit', 2):,f} {currency}".replace(",", "\N{NARROW NO-BREAK SPACE}")
    mended = say(
        "Buying {metals} for {cost} would mend it, if it is here by {needed}",
        metals=listed(metals, last=say(" and ")),
        cost=cost,
        needed=day_words(purchase.needed),
    )
    if purchase.in_time:
        return mended
    return say(
        "{mended}; ordered today it comes on {here}, so ask for it sooner or cast later",
        mended=mended,
        here=day_words(purchase.here),
    )


def _sold_for(alloy: Alloy, metal: Metal) -> bool:
    """Whether somebody delivers it and it may go into the alloy."""
    suits = metal.alloy in (None, alloy.id) and made_for(metal, alloy)
    return metal.lead_days is not None and suits and obstacle(alloy, metal_offer(metal)) is None


def _packs(asked: Asked, there: Sequence[Offer], metals: Sequence[Metal]) -> list[int] | None:
    """How many packs of each metal, the charge being in whole steps of the scale and verified in exact fractions."""
    offers = [*there, *(metal_offer(m) for m in metals)]
    for over in STEPS_OVER:
        try:
            found = minimise(_program(asked, there, metals, asked.steps + over))
        except SolverFailed:
            continue
        if found is None:
            continue
        parts = [Part(offer=o, mass=asked.step.times(round(x))) for o, x in zip(offers, found, strict=False) if round(x)]
        if holds(asked.alloy, parts, asked.tolerance, recycled_limit=asked.recycled_limit):
            return [round(x) for x in found[len(offers) :]]
    return None


def _program(asked: Asked, there: Sequence[Offer], metals: Sequence[Metal], most: int) -> Program:
    """Steps of the scale of what is there and of what is bought, then packs of each metal. No metal gives more
    than its packs hold."""
    offers = [*there, *(metal_offer(m) for m in metals)]
    first = len(offers)
    holding = [max(1, m.pack.base // asked.step.base) for m in metals]
    shelf = [capacity(o, asked.step) for o in there]
    bounds = [(Fraction(0), Fraction(most if h is None else math.floor(h))) for h in shelf]
    bounds += [(Fraction(0), Fraction(most))] * len(metals)
    bounds += [(Fraction(0), Fraction(-(-most // h))) for h in holding]
    inside = [Row({len(there) + i: Fraction(1), first + i: -Fraction(h)}, high=Fraction(0)) for i, h in enumerate(holding)]
    everything = Row(dict.fromkeys(range(first), Fraction(1)), Fraction(asked.steps), Fraction(most))
    cost = {first + i: Fraction(m.price.base) * m.pack.base / m.price_mass.base + MILLIONTH for i, m in enumerate(metals)}
    return Program(bounds=bounds, rows=[*alloy_rows(asked, offers), *inside, everything], objectives=[cost], whole=True)


def _bought(shop: Shop, metal: Metal, packs: int, today: date) -> Bought:
    mass = metal.pack.times(packs)
    return Bought(
        metal=metal.id,
        name=metal.name,
        mass=mass,
        cost=metal.price.times(mass.over(metal.price_mass)),
        here=arrival(shop, today, metal.lead_days or 0).isoformat(),
    )
