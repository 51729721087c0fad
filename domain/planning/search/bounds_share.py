"""What the flasks of one melt and the loads for them cost at least, by the shares that pieces take of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

from domain.planning.baseline.trees import Trees
from domain.planning.problem import PlanJob, Problem
from domain.shop.burnout import Kiln
from domain.shop.flask import FlaskSize


def least_flasks(trees: Trees, melt: str, jobs: list[PlanJob], wanted: dict[str, int]) -> tuple[int, int]:
    """How many flasks a melt takes at least, and at what price. Ranges that do not meet never share a
    flask; a crucible holds only so much, and so do a trunk's height times its circle: for each of the
    two no mix of sizes is cheaper than the size with the cheapest room."""
    sizes = trees.usable_sizes(melt)
    if not sizes:
        return 0, 0
    piercing = _piercing(jobs)
    count, price = piercing, piercing * min(s.cost for s in sizes)
    metal = Fraction(sum(j.metal_each.base * wanted[j.id] for j in jobs))
    surface = sum((_surface(trees, j, sizes) * wanted[j.id] for j in jobs), Fraction(0))
    for taken, rooms in ((metal, _crucibles(trees, melt, sizes)), (surface, _trunks(trees, sizes))):
        there = [(room, s.cost) for room, s in zip(rooms, sizes, strict=True) if room > 0]
        if there:
            count = max(count, math.ceil(taken / max(room for room, _ in there)))
            price = max(price, math.ceil(taken * min(Fraction(each, room) for room, each in there)))
    return count, price


def _piercing(jobs: list[PlanJob]) -> int:
    """The fewest temperatures that serve every job: as many flasks at least."""
    count, at = 0, None
    for job in sorted(jobs, key=lambda j: j.temperatures.high):
        if at is None or job.temperatures.low > at:
            count, at = count + 1, job.temperatures.high
    return count


def _crucibles(trees: Trees, melt: str, sizes: Sequence[FlaskSize]) -> list[int]:
    return [max(trees.most_metal(melt, s.id, m.id).base for m in trees.machines(melt, s.id)) for s in sizes]


def _trunks(trees: Trees, sizes: Sequence[FlaskSize]) -> list[int]:
    gap = trees.problem.rules.ring_gap.base
    spaces = [trees.space(s.id) for s in sizes]
    return [max(0, space.circle.base) * max(0, space.height.base + gap) for space in spaces]


def _surface(trees: Trees, job: PlanJob, sizes: Sequence[FlaskSize]) -> Fraction:
    """The least of circle times trunk that one piece takes, by the rings or by the shop's own count."""
    rules = trees.problem.rules
    box = Fraction((job.size.width + rules.piece_gap).base * (job.size.height + rules.ring_gap).base)
    spaces = [(trees.space(s.id), job.per_tree[s.id]) for s in sizes if job.per_tree.get(s.id)]
    return min([box, *(Fraction(max(0, sp.circle.base) * max(0, sp.height.base), full) for sp, full in spaces)])


def least_loads(problem: Problem, flasks: int) -> int:
    """As many loads as the roomiest floor needs for so many of the smallest flasks."""
    kilns = [k for k in problem.shop.kilns if k.in_service]
    smallest = min((s.outer_diameter.base for s in problem.shop.sizes), default=0)
    if not flasks or not kilns:
        return 0
    room = max(_room(k, smallest) for k in kilns)
    return -(-flasks // room) * min(k.cost for k in kilns) if room else 0


def _room(kiln: Kiln, diameter: int) -> int:
    """How many flasks of this diameter stand in rows: no load of larger ones has more."""
    gap = kiln.gap.base
    return ((kiln.width.base - gap) // (diameter + gap)) * ((kiln.depth.base - gap) // (diameter + gap))
