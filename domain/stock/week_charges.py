"""What goes into the crucible for every flask of a week, and what must be ordered for it.

First all flasks share the shelf and the suppliers in one linear program. Then each is weighed out
in the order of casting: from its own share, from what nobody was promised, and from what earlier
casts gave back, in whole steps of the scale. So no metal is promised twice, and returns only ever
save metal, never stand in for metal that is not there.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction

from domain.errors import CannotCompose
from domain.metallurgy.blend import Asked, Known, obstacle
from domain.metallurgy.charge import ComposedCharge, compose_asked
from domain.metallurgy.melt import Offer, Part
from domain.metallurgy.pattern_metal import feed_metal
from domain.planning.calendar import arrival
from domain.planning.explain.words import day_words
from domain.planning.plan import ChargePart, FlaskCharge, From, MetalOrder, PlannedFlask
from domain.planning.problem import Melt, Problem
from domain.saying import say
from domain.stock.offers import (
    USED_FIRST,
    is_here,
    offer_id,
    oldest_first,
    origin_of,
    recycled_limit,
    shelf_offers,
    supplier_offers,
)
from domain.stock.orders import orders_for
from domain.stock.purchase import Purchase, cheapest_purchase, purchase_words
from domain.stock.week_lp import ROOM, Place, divide
from domain.units import Mass

MANY_RETURNS = 12
"""A flask is offered no more returns than these, the oldest, unless they hold less than ``AMPLE`` times its charge
or it cannot be charged from them: nobody lays a hundred bags of returns beside the scale."""
AMPLE = 2
CRUMBS = 100
"""Among many, returns of less than this part of the charge are left aside: they are not worth the weighing."""
WIDE = 60
"""Steps of the scale of room for a flask whose share could not be rounded."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shortage:
    """A flask whose charge cannot be composed, what is in the way and what would mend it. ``purchase``: the cheapest
    that would, none where nothing that suppliers bring does or the metal is the customer's own."""

    flask: str
    blocker: str
    remedy: str
    purchase: Purchase | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekCharges:
    """``composed``: what each charge gives, by flask."""

    charges: tuple[FlaskCharge, ...] = ()
    orders: tuple[MetalOrder, ...] = ()
    short: tuple[Shortage, ...] = ()
    composed: Mapping[str, ComposedCharge]


def week_charges(problem: Problem, flasks: Sequence[PlannedFlask]) -> WeekCharges:
    """Charges for all flasks not yet cast, with the orders that they need. A flask that was weighed
    or cast before now keeps the charge of the previous plan: its metal has left the shelf already."""
    week = _Week(problem, flasks)
    week.weigh_out()
    charges = (*week.past, *week.charges)
    return WeekCharges(
        charges=charges, orders=orders_for(problem, flasks, week.charges), short=tuple(week.short), composed=week.composed
    )


def returns_mass(problem: Problem, flask: PlannedFlask, charged: Mass) -> Mass:
    """Button, trunk and feed sprues: what was charged, less the melt loss, less the pieces."""
    melt = problem.melt[flask.melt]
    poured = charged.base * (1_000_000 - melt.alloy.melt_loss.base) // 1_000_000
    feed = feed_metal(problem.rules, melt.alloy.density)
    pieces = sum(n * (problem.job[job].metal_each.base - feed.base) for job, n in flask.contents.items() if job in problem.job)
    return Mass(max(0, poured - pieces))


class _Week:
    """The week while it is being weighed out."""

    def __init__(self, problem: Problem, flasks: Sequence[PlannedFlask]) -> None:
        self.problem = problem
        known = [f for f in flasks if f.melt in problem.melt]
        self.flasks = sorted((f for f in known if problem.on_shelf(f)), key=lambda f: (f.cast_start, f.id))
        gone = {f.id for f in known if not problem.on_shelf(f)}
        self.past = tuple(c for c in problem.previous.charges if c.flask in gone) if problem.previous else ()
        self.left = {lot.id: lot.mass for lot in problem.lots}
        self.owned = {m.own_lot for m in problem.melts if m.own_lot}
        self.arrivals = self._arrivals()
        self.known: dict[str, Known] = {}
        self.shares: dict[str, dict[str, Fraction]] = {}
        self.promised: dict[str, Mass] = {}
        self.cast: dict[str, list[PlannedFlask]] = {}
        self.charges: list[FlaskCharge] = []
        self.short: list[Shortage] = []
        self.composed: dict[str, ComposedCharge] = {}
        self.returns: dict[str, Mass] = {}

    def _arrivals(self) -> dict[str, date]:
        today = self.problem.clock.day_of(self.problem.now)
        return {m.id: arrival(self.problem.shop, today, m.lead_days) for m in self.problem.shop.metals if m.lead_days is not None}

    def weigh_out(self) -> None:
        """Compose every charge, earliest cast first."""
        self._share_out(self.flasks)
        for n, flask in enumerate(self.flasks):
            self._weigh(flask, self.flasks[n + 1 :])

    def _share_out(self, flasks: Sequence[PlannedFlask], room: int = ROOM) -> None:
        """Divide what is left among ``flasks``, the first of them with ``room`` to round."""
        self.shares = divide([replace(self._place(f), room=room if n == 0 else ROOM) for n, f in enumerate(flasks)])
        self.promised = {}
        for share in self.shares.values():
            for lot, mass in self._of_lots(share):
                self.promised[lot] = self.promised.get(lot, Mass(0)) + mass

    def _of_lots(self, share: Mapping[str, Fraction]) -> Iterator[tuple[str, Mass]]:
        for offer, steps in share.items():
            origin, _, ref = offer.partition(":")
            if origin == From.LOT:
                yield ref, self.problem.rules.scale_step.times(steps)

    def _release(self, flask: PlannedFlask) -> None:
        """It is this flask's turn: its share is promised no more."""
        for lot, mass in self._of_lots(self.shares.get(flask.id, {})):
            self.promised[lot] = self.promised[lot] - mass

    def _place(self, flask: PlannedFlask) -> Place:
        melt = self.problem.melt[flask.melt]
        return Place(flask=flask.id, asked=self._asked(flask), offers=tuple(self._fresh(flask, melt, self.left)))

    def _asked(self, flask: PlannedFlask) -> Asked:
        melt = self.problem.melt[flask.melt]
        limit = recycled_limit(melt.own_lot)
        known, step = self.known.setdefault(melt.key, Known()), self.problem.rules.scale_step
        return Asked(alloy=melt.alloy, mass=flask.charge, step=step, recycled_limit=limit, known=known)

    def _fresh(self, flask: PlannedFlask, melt: Melt, left: Mapping[str, Mass]) -> list[Offer]:
        """What shelf, deliveries and suppliers offer a flask at its slot."""
        day = self.problem.clock.day_of(flask.cast_start)
        here = [lot for lot in self.problem.lots if is_here(lot, day)]
        offers = shelf_offers(melt.alloy, melt.own_lot, here, left, self.problem.shop.metals, self.owned)
        if melt.own_lot is None:
            in_time = [m for m in self.problem.shop.metals if m.id in self.arrivals and self.arrivals[m.id] <= day]
            offers += supplier_offers(melt.alloy, in_time)
        return [o for o in offers if obstacle(melt.alloy, o) is None]

    def _free(self) -> dict[str, Mass]:
        """What of each lot is not promised to later flasks."""
        return self.left | {lot: self.left[lot] - mass for lot, mass in self.promised.items()}

    def _weigh(self, flask: PlannedFlask, later: Sequence[PlannedFlask]) -> None:
        """Compose one charge from what is not promised to later flasks. Where that cannot be rounded,
        what is left is divided again with more room; at last the flask takes what it needs. A flask that
        got no share takes only what nobody else needs."""
        self._release(flask)
        for attempt in (0, WIDE, None) if flask.id in self.shares else (0,):
            if attempt:
                self._share_out([flask, *later], attempt)
                self._release(flask)
            try:
                self._book(flask, self._compose(flask, self.left if attempt is None else self._free()))
                return
            except CannotCompose as why:
                reason = why
        self.short.append(self._shortage(flask, reason))

    def _shortage(self, flask: PlannedFlask, why: CannotCompose) -> Shortage:
        melt = self.problem.melt[flask.melt]
        if melt.own_lot is not None:
            ask = say("{remedy}; the metal is the customer's own and is not blended: ask what to do", remedy=why.remedy)
            return Shortage(flask=flask.id, blocker=why.blocker, remedy=ask)
        clock = self.problem.clock
        offers = [*self._fresh(flask, melt, self._free()), *self._clean_returns(flask, melt)]
        today, day = clock.day_of(self.problem.now), clock.day_of(flask.cast_start)
        purchase = cheapest_purchase(self.problem.shop, self._asked(flask), offers, today, day)
        if purchase is None or not purchase.metals:
            return Shortage(flask=flask.id, blocker=why.blocker, remedy=why.remedy)
        late = say("{blocker}, and more cannot be here by {day}", blocker=why.blocker, day=day_words(day))
        blocker = why.blocker if purchase.in_time else late
        return Shortage(
            flask=flask.id, blocker=blocker, remedy=purchase_words(purchase, self.problem.rules.currency), purchase=purchase
        )

    def _compose(self, flask: PlannedFlask, left: Mapping[str, Mass]) -> ComposedCharge:
        melt = self.problem.melt[flask.melt]
        fresh, returns = self._fresh(flask, melt, left), self._clean_returns(flask, melt)
        few = few_returns(returns, flask.charge)
        if len(few) < len(returns):
            with suppress(CannotCompose):
                return compose_asked(self._asked(flask), oldest_first([*fresh, *few]))
        return compose_asked(self._asked(flask), oldest_first([*fresh, *returns]))

    def _clean_returns(self, flask: PlannedFlask, melt: Melt) -> list[Offer]:
        """What earlier casts of the same melt gave back and is clean by this flask's slot."""
        clean = self.problem.rules.clean_minutes
        earlier = [f for f in self.cast.get(melt.key, ()) if f.cast_end + clean <= flask.cast_start]
        offers = [self._returned(f) for f in earlier if self.returns[f.id].base > 0]
        return [o for o in offers if obstacle(melt.alloy, o) is None]

    def _returned(self, flask: PlannedFlask) -> Offer:
        charge = self.composed[flask.id]
        return Offer(
            id=offer_id(From.RETURNS, flask.id),
            name=say("the returns of {flask}", flask=flask.id),
            composition=charge.melt,
            available=self.returns[flask.id],
            cost=USED_FIRST * sum((p.offer.cost * p.mass.base for p in charge.parts), Fraction(0)) / charge.mass.base,
            recycled=True,
            melts=charge.melts,
        )

    def _book(self, flask: PlannedFlask, charge: ComposedCharge) -> None:
        for part in charge.parts:
            origin, ref = origin_of(part.offer)
            held = self.left if origin is From.LOT else self.returns
            if origin is not From.ORDER:
                held[ref] = held[ref] - part.mass
        self.composed[flask.id] = charge
        self.cast.setdefault(flask.melt, []).append(flask)
        self.returns[flask.id] = returns_mass(self.problem, flask, charge.mass)
        self.charges.append(FlaskCharge(flask=flask.id, parts=tuple(_charge_part(p) for p in charge.parts)))


def few_returns(returns: Sequence[Offer], charge: Mass) -> list[Offer]:
    """Of many returns the oldest."""
    few: list[Offer] = []
    held = Mass(0)
    for offer in returns if len(returns) > MANY_RETURNS else ():
        assert offer.available is not None  # what was cast was weighed
        if held >= charge.times(AMPLE) and len(few) >= MANY_RETURNS:
            break
        if offer.available.times(CRUMBS) >= charge:
            few.append(offer)
            held = held + offer.available
    return few or list(returns)


def _charge_part(part: Part) -> ChargePart:
    origin, ref = origin_of(part.offer)
    return ChargePart(origin=origin, ref=ref, mass=part.mass)
