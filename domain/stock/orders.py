"""What must be ordered for the week's charges, and by when."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from domain.planning.calendar import arrival, works
from domain.planning.plan import FlaskCharge, From, MetalOrder, PlannedFlask
from domain.planning.problem import Problem
from domain.shop.shop import Shop
from domain.units import Mass, total


def orders_for(problem: Problem, flasks: Sequence[PlannedFlask], charges: Sequence[FlaskCharge]) -> tuple[MetalOrder, ...]:
    """One order for each metal that charges take on order, to be here for the first of them."""
    days = {f.id: problem.clock.day_of(f.cast_start) for f in flasks}
    taken: dict[str, list[tuple[str, Mass]]] = {}
    for charge in charges:
        for part in charge.parts:
            if part.origin is From.ORDER:
                taken.setdefault(part.ref, []).append((charge.flask, part.mass))
    today = problem.clock.day_of(problem.now)
    return tuple(_order(problem.shop, today, metal, parts, min(days[f] for f, _ in parts)) for metal, parts in taken.items())


def _order(shop: Shop, today: date, metal_id: str, parts: Sequence[tuple[str, Mass]], first: date) -> MetalOrder:
    metal = next(m for m in shop.metals if m.id == metal_id)
    assert metal.lead_days is not None  # only metal that somebody delivers is offered
    needed = total(Mass, (mass for _, mass in parts))
    order_by = last_order_day(shop, today, first, metal.lead_days)
    return MetalOrder(
        metal=metal_id,
        needed=needed,
        mass=needed.rounded_up(metal.pack) if metal.pack.base > 0 else needed,
        order_by=order_by.isoformat(),
        arrives=arrival(shop, order_by, metal.lead_days).isoformat(),
        flasks=tuple(dict.fromkeys(flask for flask, _ in parts)),
    )


def last_order_day(shop: Shop, today: date, needed: date, lead_days: int) -> date:
    """The last day from today on, somebody being there to order, on which an order is still here on
    ``needed``; today where there is none."""
    day = needed
    while day > today and not (works(shop, day) and arrival(shop, day, lead_days) <= needed):
        day -= timedelta(days=1)
    return max(day, today)
