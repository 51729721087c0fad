"""What no plan can beat, worked out without a plan: valid however the search went."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache

from domain.planning.baseline.groups import pieces_wanted
from domain.planning.baseline.hours import Hours
from domain.planning.baseline.trees import Trees
from domain.planning.explain.never import never
from domain.planning.measure import days_late, planned_pieces
from domain.planning.plan import LEVELS, Level, Plan
from domain.planning.problem import PlanJob, Problem
from domain.planning.search.columns import least_cost
from domain.shop.burnout import Kiln
from domain.shop.flask import FlaskSize


def bounded(trees: Trees, plan: Plan) -> Plan:
    """The plan with a bound at each level, valid given the levels before it."""
    if all(level.proven for level in plan.levels[:3]):
        return replace(plan, levels=tuple(with_bound(level, 0) for level in plan.levels))
    bounds = week_bounds(trees, plan)
    return replace(plan, levels=tuple(with_bound(level, bounds[level.name]) for level in plan.levels))


def with_bound(level: Level, bound: int) -> Level:
    """The level with the better of two bounds, never above its value."""
    return replace(level, bound=min(level.value, max(bound, level.bound or 0)))


def week_bounds(trees: Trees, plan: Plan) -> dict[str, int]:
    """Nothing is negative; what cannot be planned is left out; the rest is late at least as an empty shop
    would make it, and costs at least its share of the cheapest flasks, or what ``columns`` finds for weeks
    that are no later than the plan. The latter two count only where nothing is left out that could be
    planned: another plan might leave out something else."""
    bounds = _first_bounds(trees, plan)
    if bounds["weighted days late"] is None:
        return {name: bound or 0 for name, bound in bounds.items()}
    late, cost = plan.levels[1].value, plan.levels[2].value
    wanted = possible(trees)
    least = _least_cost(trees, wanted)
    if least < cost:
        least = max(least, _least_by_days(_Same(trees.problem), late))
    return {name: bound or 0 for name, bound in bounds.items()} | {"flasks and loads": least}


def _first_bounds(trees: Trees, plan: Plan) -> dict[str, int | None]:
    """What is left out and late at least; none for lateness where something is left out that could be planned."""
    bounds: dict[str, int | None] = dict.fromkeys(LEVELS, 0)
    impossible = _impossible(trees)
    bounds["left out"] = sum(trees.problem.job[j].weight * n for j, n in impossible.items())
    inside = planned_pieces(plan)
    full = all(job.quantity <= inside.get(job.id, 0) + impossible.get(job.id, 0) for job in trees.problem.jobs)
    bounds["weighted days late"] = _least_late(trees, possible(trees)) if full else None
    return bounds


def possible(trees: Trees) -> dict[str, int]:
    """Pieces by job that are in no fixed flask and that some plan casts."""
    impossible = _impossible(trees)
    return {j: n for j, n in pieces_wanted(trees.problem).items() if n and j not in impossible}


class _Same:
    """A problem that equals itself only, so that what is worked out for it can be kept."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem

    def __hash__(self) -> int:
        return id(self.problem)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.problem is self.problem


@lru_cache(maxsize=4)
def _least_by_days(same: _Same, late: int) -> int:
    """The cost of every plan of the week that is no later than this, at least."""
    trees = Trees(same.problem)
    wanted = possible(trees)
    gone = {j.id for j in same.problem.jobs if j.id not in wanted}
    fixed = _late_already(same.problem, gone)
    return _fixed_cost(same.problem) + least_cost(trees, wanted, late, fixed) if wanted else _fixed_cost(same.problem)


def _late_already(problem: Problem, jobs: set[str]) -> int:
    """Weighted days late of jobs that are in fixed flasks only."""
    late = days_late(problem, Plan(flasks=problem.fixed_flasks, loads=problem.fixed_loads))
    return sum(problem.job[j].weight * n for j, n in late.items() if j in jobs)


def _impossible(trees: Trees) -> dict[str, int]:
    wanted = pieces_wanted(trees.problem)
    stuck = {j.id: j.quantity for j in trees.problem.jobs if j.id not in wanted}
    for f in trees.problem.fixed_flasks:
        for j, n in f.contents.items():
            stuck[j] = stuck.get(j, 0) - n if j in stuck else 0
    never_cast = {j: n for j, n in wanted.items() if n and never(trees, trees.problem.job[j])}
    return {j: n for j, n in {**stuck, **never_cast}.items() if n > 0}


def _least_late(trees: Trees, wanted: dict[str, int]) -> int:
    """Each job by itself in an empty shop: invested when its patterns are ready, the shortest program,
    the quickest machine, the soonest hours."""
    hours = Hours(trees.problem)
    total = 0
    for job in trees.problem.jobs:
        fixed = [f.knockout_end for f in trees.problem.fixed_flasks if job.id in f.contents]
        days = [hours.day_index(end) for end in fixed]
        if job.id in wanted:
            days.append(_soonest(trees, hours, job))
        total += job.weight * max([0, *(day - hours.due_index(job.due) for day in days)])
    return total


def _soonest(trees: Trees, hours: Hours, job: PlanJob) -> int:
    """No knock-out of the job ends on an earlier day."""
    problem, rules = trees.problem, trees.problem.rules
    kinds = [problem.investment[i] for i in problem.melt[job.melt].investments]
    programs = [p.minutes for p in problem.shop.programs if p.minutes >= job.burnout_minutes and p.peak >= job.burnout_peak]
    machines = [problem.machine[m].minutes_per_cast for m in problem.melt[job.melt].machines]
    if not (kinds and programs and machines):
        return 0
    invested = hours.next_open(max(job.ready, problem.now))
    if invested is None:
        return 0
    loaded = hours.next_open(invested + rules.invest_minutes + min(k.bench_set_minutes for k in kinds))
    if loaded is None:
        return 0
    cast = loaded + min(programs) + rules.soak_minutes
    opens = [s.opens for s in hours.casters if s.closes + rules.overtime_minutes >= cast + min(machines)]
    cast = max(cast, min(opens, default=cast))
    out = hours.knockout(cast + min(machines), problem.melt[job.melt].alloy.cooling.wait_minutes)
    return hours.day_index(out[1]) if out else 0


def _least_cost(trees: Trees, wanted: dict[str, int]) -> int:
    """What is fixed, then for each melt its share of the cheapest flasks, then loads for that many flasks."""
    flasks = [_least_flasks(trees, melt, jobs, wanted) for melt, jobs in _by_melt(trees, wanted).items()]
    loads = _least_loads(trees.problem, sum(count for count, _ in flasks))
    return _fixed_cost(trees.problem) + sum(price for _, price in flasks) + loads


def most_slots(trees: Trees, plan: Plan) -> tuple[dict[str, int], dict[str, int]] | None:
    """How many flasks per melt, and loads per kiln, a plan may have that is not dearer than this one. None
    where the levels before cost are not proven, because then a dearer plan may be better."""
    bounds = _first_bounds(trees, plan)
    if any(level.value > (bounds[level.name] or 0) for level in plan.levels[:2]):
        return None
    problem, wanted = trees.problem, possible(trees)
    jobs = _by_melt(trees, wanted)
    prices = {m: _least_flasks(trees, m, mine, wanted) for m, mine in jobs.items()}
    loads = _least_loads(problem, sum(count for count, _ in prices.values()))
    spare = plan.levels[2].value - _fixed_cost(problem) - loads - sum(price for _, price in prices.values())
    flasks = {m: _at_most(spare + prices[m][1], min((s.cost for s in trees.usable_sizes(m)), default=0)) for m in jobs}
    return flasks, {k.id: _at_most(spare + loads, k.cost) for k in problem.shop.kilns}


def _at_most(money: int, each: int) -> int:
    return max(0, money) // each if each > 0 else 10**6


def _by_melt(trees: Trees, wanted: dict[str, int]) -> dict[str, list[PlanJob]]:
    groups: dict[str, list[PlanJob]] = defaultdict(list)
    for j in wanted:
        groups[trees.problem.job[j].melt].append(trees.problem.job[j])
    return groups


def _fixed_cost(problem: Problem) -> int:
    sizes, kilns = problem.size, problem.kiln
    flasks = sum(sizes[f.size].cost for f in problem.fixed_flasks if f.size in sizes)
    return flasks + sum(kilns[x.kiln].cost for x in problem.fixed_loads if x.kiln in kilns)


def _least_flasks(trees: Trees, melt: str, jobs: list[PlanJob], wanted: dict[str, int]) -> tuple[int, int]:
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


def _least_loads(problem: Problem, flasks: int) -> int:
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
