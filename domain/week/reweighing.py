"""A plan that a person changed, with its metal and its levels worked out again."""

from __future__ import annotations

from dataclasses import replace

from domain.planning.check import Violation, check
from domain.planning.measure import measure
from domain.planning.plan import FlaskCharge, From, Plan
from domain.planning.problem import Problem
from domain.saying import say
from domain.shop.lots import Lot
from domain.stock.orders import orders_for
from domain.stock.week_charges import week_charges
from domain.units import Mass


def finished(problem: Problem, before: Plan, plan: Plan) -> Plan:
    """The plan with its metal and its levels worked out again, marked as made by hand.

    Charges of flasks that do not change stay as people have weighed them out, where the metal that is
    left suffices for the others; else all are shared out anew.
    """
    return checked(problem, before, plan)[0]


def checked(problem: Problem, before: Plan, plan: Plan, sound: bool = False) -> tuple[Plan, tuple[Violation, ...]]:
    """The same, with all that the checker says of it. ``sound``: ``before`` has passed the checker, so that
    flasks which stand as they did are not looked at again one by one."""
    passed = before if sound else None
    plan = measured(problem, before, replace(plan, made_by="hand", seconds=0.0, notes=()))
    steady = _weighed_beside(problem, before, plan)
    if steady is not None:
        wrong = check(problem, steady, beside=passed)
        if not any(v.rule == 9 for v in wrong):
            return steady, wrong
    metal = week_charges(problem, plan.flasks)
    notes = tuple(
        say("{flask} has no charge: {blocker}. {remedy}", flask=s.flask, blocker=s.blocker, remedy=s.remedy) for s in metal.short
    )
    plan = replace(plan, charges=metal.charges, orders=metal.orders, notes=notes)
    return plan, check(problem, plan, beside=passed)


def _weighed_beside(problem: Problem, before: Plan, plan: Plan) -> Plan | None:
    """New charges for the changed flasks alone, from what the others leave; none where that is too little."""
    changed_ids = _charged_anew(before, plan)
    changed = [f for f in plan.flasks if f.id in changed_ids]
    kept_ids = {f.id for f in plan.flasks} - changed_ids
    kept = [c for c in before.charges if c.flask in kept_ids]
    ahead = {f.id for f in plan.flasks if problem.on_shelf(f)}
    metal = week_charges(replace(problem, lots=_left_by(problem, [c for c in kept if c.flask in ahead])), changed)
    if metal.short:
        return None
    charges = (*kept, *(c for c in metal.charges if c.flask not in kept_ids))
    orders = orders_for(problem, plan.flasks, [c for c in charges if c.flask in ahead])
    return replace(plan, charges=charges, orders=orders)


def _charged_anew(before: Plan, plan: Plan) -> set[str]:
    """Flasks that changed or are gone, and those that are charged with what they would have given back."""
    then, now = {f.id: f for f in before.flasks}, {f.id: f for f in plan.flasks}
    changed = {f for f in then.keys() | now.keys() if then.get(f) != now.get(f)}
    while True:
        users = {c.flask for c in before.charges for p in c.parts if p.origin is From.RETURNS and p.ref in changed}
        if users <= changed:
            return changed
        changed |= users


def _left_by(problem: Problem, charges: list[FlaskCharge]) -> tuple[Lot, ...]:
    """The shelf when these charges have been taken from it."""
    taken: dict[str, Mass] = {}
    for part in (p for c in charges for p in c.parts if p.origin is From.LOT):
        taken[part.ref] = taken.get(part.ref, Mass(0)) + part.mass
    return tuple(replace(lot, mass=lot.mass - taken.get(lot.id, Mass(0))) for lot in problem.lots)


def measured(problem: Problem, before: Plan, plan: Plan) -> Plan:
    return replace(plan, levels=measure(replace(problem, previous=problem.previous or before), plan))
