"""The checker: every plan is measured against the trade's eleven rules before it is shown.

It knows no planner and shares no arithmetic with one. It answers with what is wrong, in the words
of the bench; it never refuses to look at a malformed plan.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeAlias

from domain.planning.checking import bench, casting, kiln, levels, metal, orders, tree, whole
from domain.planning.checking.case import Case, Violation
from domain.planning.plan import Plan
from domain.planning.problem import Problem

__all__ = ["RULES", "Violation", "check"]

Rule: TypeAlias = Callable[[Case], Iterable[Violation]]

RULES: dict[int, tuple[Rule, ...]] = {
    0: (levels.levels_hold,),
    1: (tree.one_alloy,),
    2: (tree.one_temperature,),
    3: (tree.tree_fits, tree.kept_together),
    4: (tree.charge_fits,),
    5: (bench.flasks_owned,),
    6: (bench.investing, bench.one_at_the_bench),
    7: (kiln.loads_hold, kiln.programs_suit, kiln.kilns_run),
    8: (casting.soaks, casting.machines_cast, casting.people_cast, casting.knocked_out),
    9: (metal.shelf_reaches,),
    10: (whole.fixed_stands,),
    11: (whole.named_once, whole.every_piece_once),
}
METAL: tuple[Rule, ...] = (metal.charges_hold, metal.lots_suffice, orders.orders_arrive)


def check(problem: Problem, plan: Plan, metal: bool = True, beside: Plan | None = None) -> tuple[Violation, ...]:
    """What is wrong with the plan, rule by rule; nothing where it may be shown.

    ``metal`` false leaves the charges and orders out, for plans that are not weighed out yet; that
    the shelf reaches until ordered metal can be here is looked at in any case. ``beside``: a plan of this
    problem that passed before; what concerns one flask alone (its alloy, temperature, tree, charge) is not
    looked at again where flask and charge stand in it exactly so.
    """
    case = Case(problem, plan, beside)
    rules = [rule for group in RULES.values() for rule in group] + (list(METAL) if metal else [])
    return tuple(dict.fromkeys(violation for rule in rules for violation in rule(case)))
