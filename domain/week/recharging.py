"""Charges worked out again where something has changed: a real tree was weighed, a lot turned out to be
made of something else, less metal is there than was promised. Every other charge stays as people have read it."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from domain.planning.checking.case import Case
from domain.planning.checking.metal import charges_hold, lots_suffice
from domain.planning.plan import FlaskCharge, From, Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.shop.lots import Lot
from domain.stock.orders import orders_for
from domain.stock.week_charges import Shortage, WeekCharges, week_charges
from domain.units import Mass


@dataclass(frozen=True, slots=True, kw_only=True)
class Recharged:
    """``changed``: flasks whose charge is another now. ``short``: those for which none can be composed."""

    plan: Plan
    changed: tuple[str, ...]
    short: tuple[Shortage, ...]


def stale(problem: Problem, plan: Plan) -> dict[str, str]:
    """Flasks still to be cast whose planned charge does not hold with the metal of today, and why."""
    free = replace(problem, fixed_flasks=())
    case = Case(free, plan)
    ahead = {f.id for f in plan.flasks if problem.on_shelf(f)}
    found = {v.where.removeprefix("flask "): v.message for v in charges_hold(case)}
    for violation in lots_suffice(case):
        source = violation.where.partition(" ")[2]
        takers = [c.flask for c in plan.charges if any(p.ref == source for p in c.parts)]
        found |= {flask: violation.message for flask in takers if flask not in found}
    return {flask: why for flask, why in found.items() if flask in ahead}


def counting_on(plan: Plan, back: Mapping[str, Mass]) -> tuple[str, ...]:
    """Flasks charged from the returns of others of which less came ``back`` than all charges take together."""
    taken: dict[str, Mass] = {}
    for part in (p for c in plan.charges for p in c.parts if p.origin is From.RETURNS):
        taken[part.ref] = taken.get(part.ref, Mass(0)) + part.mass
    short = {flask for flask, mass in back.items() if taken.get(flask, Mass(0)) > mass}
    return tuple(c.flask for c in plan.charges if any(p.origin is From.RETURNS and p.ref in short for p in c.parts))


def recharged(problem: Problem, plan: Plan, flasks: Collection[str], weighed: Sequence[PlannedFlask] = ()) -> Recharged:
    """New charges for these flasks from what the others leave; where that is too little, all are shared out anew.

    ``weighed``: flasks as they are after weighing their trees, in place of those of the plan.
    """
    new = {f.id: f for f in weighed}
    after = replace(plan, flasks=tuple(new.get(f.id, f) for f in plan.flasks))
    affected = _with_users(plan, set(flasks) | new.keys())
    ahead = {f.id for f in after.flasks if problem.on_shelf(f)}
    kept = [c for c in plan.charges if c.flask not in affected]
    left = _left_by(problem.lots, [c for c in kept if c.flask in ahead])
    metal = week_charges(replace(problem, lots=left), [f for f in after.flasks if f.id in affected])
    charges = (*kept, *(c for c in metal.charges if c.flask in affected))
    if metal.short:
        anew = week_charges(problem, after.flasks)
        if len(anew.short) < len(metal.short):
            metal, charges = anew, anew.charges
    ordered = orders_for(problem, after.flasks, [c for c in charges if c.flask in ahead])
    return _told(plan, replace(after, charges=charges, orders=ordered), metal)


def _told(before: Plan, after: Plan, metal: WeekCharges) -> Recharged:
    then, now = {c.flask: c for c in before.charges}, {c.flask: c for c in after.charges}
    changed = tuple(f.id for f in after.flasks if then.get(f.id) != now.get(f.id))
    return Recharged(plan=after, changed=changed, short=metal.short)


def _with_users(plan: Plan, flasks: set[str]) -> set[str]:
    """With those that are charged with what they would have given back."""
    found = set(flasks)
    while True:
        users = {c.flask for c in plan.charges for p in c.parts if p.origin is From.RETURNS and p.ref in found}
        if users <= found:
            return found
        found |= users


def _left_by(lots: Sequence[Lot], charges: Sequence[FlaskCharge]) -> tuple[Lot, ...]:
    taken: dict[str, Mass] = {}
    for part in (p for c in charges for p in c.parts if p.origin is From.LOT):
        taken[part.ref] = taken.get(part.ref, Mass(0)) + part.mass
    return tuple(replace(lot, mass=max(Mass(0), lot.mass - taken.get(lot.id, Mass(0)))) for lot in lots)


def delivered_from(plan: Plan, problem: Problem, metal: str, lot: Lot) -> Plan:
    """The plan when ``lot`` of this metal was ordered: charges that waited for an order take it from the lot,
    earliest cast first, as far as it goes and arrives in time."""
    left, charges = lot.mass, {c.flask: c for c in plan.charges}
    for flask in sorted(plan.flasks, key=lambda f: f.cast_start):
        day = problem.clock.day_of(flask.cast_start).isoformat()
        charge = charges.get(flask.id)
        part = next((p for p in charge.parts if p.origin is From.ORDER and p.ref == metal), None) if charge else None
        if charge and part and part.mass <= left and (lot.arrives or "") <= day:
            left = left - part.mass
            parts = tuple(replace(p, origin=From.LOT, ref=lot.id) if p is part else p for p in charge.parts)
            charges[flask.id] = replace(charge, parts=parts)
    kept = tuple(charges[c.flask] for c in plan.charges)
    ahead = {f.id for f in plan.flasks if problem.on_shelf(f)}
    return replace(plan, charges=kept, orders=orders_for(problem, plan.flasks, [c for c in kept if c.flask in ahead]))
