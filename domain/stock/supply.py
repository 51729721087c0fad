"""How much of each melt the shelf can make, and from when on ordered metal can be here."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction

from domain.metallurgy.blend import Asked, best_blend, greatest_blend, obstacle
from domain.metallurgy.melt import Offer
from domain.planning.plan import From
from domain.shop.alloy import Alloy
from domain.shop.lots import Lot, Metal
from domain.shop.shop import Shop
from domain.stock.offers import is_here, origin_of, recycled_limit, shelf_offers, supplier_offers
from domain.stock.week_lp import ROOM
from domain.units import Mass

SMALL_CHARGE = Mass.g(20)
"""Flasks are rarely smaller: what is held back for rounding is reckoned by it."""
STEPS_A_FLASK = ROOM + 1
"""Steps of the scale held back for each flask, so that rounding finds metal."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Want:
    """A melt that wants ``mass`` at most. ``own_lot``: the customer's metal, where it is that."""

    key: str
    alloy: Alloy
    own_lot: str | None
    mass: Mass


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """``stock_castable``: what metal on the shelf can make, promised to no other melt; any split of
    it over flasks can be composed, because the allowed compositions are a convex set.
    ``order_from``: ISO date on which ordered metal, or a delivery on its way, can make the rest;
    none where it cannot."""

    stock_castable: Mass
    order_from: str | None


def metal_supply(
    shop: Shop, lots: Sequence[Lot], wants: Sequence[Want], today: date, order_arrival: Callable[[int], date]
) -> dict[str, Supply]:
    """The supply of each melt. ``wants`` are served in their order, several of one melt apart, so that
    what is due late takes nothing from what is due early; the shelf is promised once.

    ``order_arrival``: the day on which metal of so many lead days is here when ordered today.
    Deliveries on their way count from the day they arrive, not before.
    """
    stand = _Stand(shop, lots, wants, today, order_arrival)
    castable: dict[str, Mass] = {}
    for want in wants:
        castable[want.key] = castable.get(want.key, Mass(0)) + stand.castable(want)
    return {
        want.key: Supply(stock_castable=castable[want.key], order_from=stand.order_from(want, castable[want.key]))
        for want in _together(wants)
    }


def _together(wants: Iterable[Want]) -> list[Want]:
    """One want for each melt, in the order in which the melts are first wanted."""
    by_key: dict[str, Want] = {}
    for want in wants:
        before = by_key.get(want.key)
        by_key[want.key] = replace(want, mass=before.mass + want.mass) if before else want
    return list(by_key.values())


class _Stand:
    """The shelf while it is being promised."""

    def __init__(
        self, shop: Shop, lots: Sequence[Lot], wants: Iterable[Want], today: date, order_arrival: Callable[[int], date]
    ) -> None:
        self.shop, self.lots, self.today = shop, lots, today
        self.left = {lot.id: lot.mass for lot in lots}
        self.owned = {w.own_lot for w in wants if w.own_lot}
        self.arrival: Mapping[str, date] = {m.id: order_arrival(m.lead_days) for m in shop.metals if m.lead_days is not None}

    def castable(self, want: Want) -> Mass:
        """The most that the shelf makes of what is wanted, taken off the shelf. A few steps of the
        scale are held back where the shelf is the limit, because each flask is rounded up."""
        if want.mass.base == 0:
            return want.mass
        reserve = self._reserve(want.mass)
        asked = self._asked(want, want.mass + reserve)
        offers = self._shelf(want, self.today)
        found = greatest_blend(asked, offers)
        self._take(offers, found)
        most = Mass(round(sum(found, Fraction(0)) * asked.step.base))
        if most >= want.mass + reserve:
            return want.mass
        return min(want.mass, max(Mass(0), most - self._reserve(most)))

    def order_from(self, want: Want, castable: Mass) -> str | None:
        """The first day on which what arrives, with what is left on the shelf, makes the rest."""
        if want.own_lot is not None:
            return None
        rest = want.mass - castable
        asked = self._asked(want, rest if rest.base > 0 else max(want.mass, SMALL_CHARGE))
        for day in self._days():
            offers = [*self._shelf(want, day), *self._ordered(want, day)]
            found = best_blend(asked, offers)
            if found is not None:
                self._take(offers, found)
                return day.isoformat()
        return None

    def _asked(self, want: Want, mass: Mass) -> Asked:
        limit = recycled_limit(want.own_lot)
        return Asked(alloy=want.alloy, mass=mass, step=self.shop.rules.scale_step, recycled_limit=limit)

    def _reserve(self, mass: Mass) -> Mass:
        flasks = 1 + mass.base // SMALL_CHARGE.base
        return self.shop.rules.scale_step.times(STEPS_A_FLASK * flasks)

    def _days(self) -> list[date]:
        deliveries = {date.fromisoformat(lot.arrives) for lot in self.lots if lot.arrives and not is_here(lot, self.today)}
        return sorted(deliveries | set(self.arrival.values()))

    def _shelf(self, want: Want, day: date) -> list[Offer]:
        here = [lot for lot in self.lots if is_here(lot, day)]
        offers = shelf_offers(want.alloy, want.own_lot, here, self.left, self.shop.metals, self.owned)
        return [o for o in offers if obstacle(want.alloy, o) is None]

    def _ordered(self, want: Want, day: date) -> list[Offer]:
        by_then: list[Metal] = [m for m in self.shop.metals if m.id in self.arrival and self.arrival[m.id] <= day]
        return [o for o in supplier_offers(want.alloy, by_then) if obstacle(want.alloy, o) is None]

    def _take(self, offers: Sequence[Offer], blend: Sequence[Fraction]) -> None:
        for offer, steps in zip(offers, blend, strict=True):
            origin, ref = origin_of(offer)
            if origin is From.LOT and steps > 0:
                used = Mass(-int(-steps * self.shop.rules.scale_step.base // 1))
                self.left[ref] = max(Mass(0), self.left[ref] - used)
