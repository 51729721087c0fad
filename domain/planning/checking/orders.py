"""Rule 9: metal to order can be here at its slot, and is enough."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from domain.planning.checking.case import Case, Violation, grams, iso_date
from domain.planning.plan import From, MetalOrder
from domain.saying import say
from domain.shop.casting import Weekday
from domain.units import Mass

WEEK = tuple(Weekday)


def orders_arrive(case: Case) -> Iterator[Violation]:
    """Rule 9: what is on order can be here at its slot, and is enough."""
    for order in case.plan.orders:
        for text in (*_states(case, order), *_dates(case, order)):
            yield _order(order.metal, text)
    yield from _covers(case)


def _order(metal: str, text: str) -> Violation:
    return Violation(rule=9, where=f"order of {metal}", message=text)


def _states(case: Case, order: MetalOrder) -> Iterator[str]:
    metal = next((m for m in case.problem.shop.metals if m.id == order.metal), None)
    for flask in order.flasks:
        if flask not in case.flask:
            yield say("{metal} is ordered for flask {flask}, which is not in the plan", metal=order.metal, flask=flask)
    if order.needed.base < 0 or order.mass < order.needed:
        yield say(
            "{mass} of {metal} are ordered, {needed} are needed",
            mass=grams(order.mass),
            metal=order.metal,
            needed=grams(order.needed),
        )
    if metal and metal.pack.base > 0 and order.mass.base % metal.pack.base:
        yield say(
            "{mass} of {metal} are ordered, it comes in packs of {pack}",
            mass=grams(order.mass),
            metal=order.metal,
            pack=grams(metal.pack),
        )


def _dates(case: Case, order: MetalOrder) -> Iterator[str]:
    metal = next((m for m in case.problem.shop.metals if m.id == order.metal), None)
    if metal is None or metal.lead_days is None:
        yield say("nobody sells {metal} to this shop", metal=order.metal)
        return
    ordered, arrives = iso_date(order.order_by), iso_date(order.arrives)
    if ordered is None or arrives is None:
        yield say(
            "the order of {metal} has no dates: “{order_by}”, “{arrives}”",
            metal=order.metal,
            order_by=order.order_by,
            arrives=order.arrives,
        )
        return
    if ordered < case.day(case.problem.now):
        yield say("{metal} should have been ordered by {ordered}, which has passed", metal=order.metal, ordered=ordered)
    if arrives != _arrival(case, ordered, metal.lead_days):
        lead = say("{lead_days} working days", lead_days=metal.lead_days)
        yield say(
            "{metal} ordered on {ordered} takes {lead} and is not here on {arrives}",
            metal=order.metal,
            ordered=ordered,
            lead=lead,
            arrives=arrives,
        )
    for flask in order.flasks:
        if flask in case.flask and case.day(case.flask[flask].cast_start) < arrives:
            slot = case.when(case.flask[flask].cast_start)
            yield say(
                "{metal} for flask {flask} arrives {arrives}, the flask is cast {slot}",
                metal=order.metal,
                flask=flask,
                arrives=arrives,
                slot=slot,
            )


def _arrival(case: Case, ordered: date, lead_days: int) -> date | None:
    """``lead_days`` working days later; none where that is more than a year, or off the calendar."""
    for days in range(366):
        if lead_days <= 0:
            return ordered + timedelta(days=days)
        if (date.max - ordered).days <= days:
            return None
        lead_days -= _works(case, ordered + timedelta(days=days + 1))
    return None


def _works(case: Case, day: date) -> bool:
    """A day on which anybody has a shift and the shop is not closed; any day where nobody ever has."""
    shop = case.problem.shop
    weekdays = {shift.day for person in shop.people for shift in person.shifts}
    closed = any(c.first <= day.isoformat() <= c.last for c in shop.closures)
    return not weekdays or (WEEK[day.weekday()] in weekdays and not closed)


def _covers(case: Case) -> Iterator[Violation]:
    """Every part on order is in an order for its flask, and the orders are as much as their parts.
    A flask in two orders of one metal may take from both, so the orders are also counted together."""
    parts = [
        (part.ref, charge.flask, part.mass.base)
        for charge in case.plan.charges
        for part in charge.parts
        if part.origin is From.ORDER
    ]
    for metal, flask, _ in parts:
        if not any(o.metal == metal and flask in o.flasks for o in case.plan.orders):
            yield _order(metal, say("flask {flask} takes {metal} on order, and no order is for it", flask=flask, metal=metal))
    for metal in dict.fromkeys(o.metal for o in case.plan.orders):
        orders = [o for o in case.plan.orders if o.metal == metal]
        for order in orders:
            alone = {f for f in order.flasks if sum(f in o.flasks for o in orders) == 1}
            yield from _enough(metal, order.needed.base, sum(m for ref, f, m in parts if ref == metal and f in alone))
        yield from _enough(metal, sum(o.needed.base for o in orders), sum(m for ref, _, m in parts if ref == metal))


def _enough(metal: str, needed: int, taken: int) -> Iterator[Violation]:
    if taken > needed:
        yield _order(
            metal,
            say(
                "charges take {taken} of {metal} on order, {needed} are down as needed",
                taken=grams(Mass(taken)),
                metal=metal,
                needed=grams(Mass(needed)),
            ),
        )
