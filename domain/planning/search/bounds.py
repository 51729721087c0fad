"""What no plan can beat, worked out without a plan: valid however the search went."""

from __future__ import annotations

import math
import time
from collections import defaultdict
from dataclasses import replace
from functools import cached_property, lru_cache

from domain.planning.baseline.groups import pieces_wanted
from domain.planning.baseline.trees import Trees
from domain.planning.explain.never import never
from domain.planning.measure import days_late
from domain.planning.plan import LEVELS, Level, Plan
from domain.planning.problem import PlanJob, Problem
from domain.planning.search.bounds_share import least_flasks, least_loads
from domain.planning.search.columns import Aim, Limits, least
from domain.planning.search.columns_days import Days
from domain.planning.search.columns_families import Family, families
from domain.planning.search.columns_prices import Prices

FEW = 80
"""Jobs up to which whole flasks and loads are asked for."""
NODES = 1
"""Branches of the program with whole flasks and loads."""
LEAST = 0.1
"""Seconds that a program in fractions has, however little time there is."""
SECONDS = 4
"""Time for them; what is found by then holds too."""
PRICED = 3
"""Seconds before that for what a few jobs' flasks cost."""


def bounded(trees: Trees, plan: Plan, *, whole: bool, seconds: float = math.inf) -> Plan:
    """The plan with a bound at each level, valid given the levels before it. ``whole`` and ``seconds``: see
    ``week_bounds``; how far that comes depends on the machine."""
    if all(level.proven for level in plan.levels[:3]):
        return replace(plan, levels=tuple(with_bound(level, 0) for level in plan.levels))
    bounds = week_bounds(trees, plan, whole=whole, seconds=seconds)
    return replace(plan, levels=tuple(with_bound(level, bounds[level.name]) for level in plan.levels))


def with_bound(level: Level, bound: int) -> Level:
    """The level with the better of two bounds, never above its value."""
    return replace(level, bound=min(level.value, max(bound, level.bound or 0)))


def week_bounds(trees: Trees, plan: Plan, *, whole: bool = False, seconds: float = math.inf) -> dict[str, int]:
    """What every plan leaves out, is late and costs at least, each where the plan is not better at the levels
    before. Left out: what cannot be planned, and what the days have no room for. Late: each job by itself in an
    empty shop, and all together on the days' room. Cost: each melt's share of the cheapest flasks with loads for
    as many, and all together by days. None of them knows more of the plan than the values of its levels.
    ``whole``: in small weeks whole flasks and loads are asked for, which takes some seconds. ``seconds``: what would
    take longer is bounded as for plans that may leave out more or be later, where that is known, because they cost
    no more at least."""
    known = _known(trees.problem)
    known.until = time.monotonic() + seconds
    known.left(plan, whole=whole)
    if whole:
        known.late(plan, whole=whole)
    cost = known.cost(plan, whole=whole)  # else before lateness, which fractions seldom raise, where time is short
    bounds = _first_bounds(trees, plan, whole=whole)
    bounds["flasks and loads"] = max(bounds["flasks and loads"], cost)
    return bounds


def _first_bounds(trees: Trees, plan: Plan, *, whole: bool = False) -> dict[str, int]:
    """What is left out and late at least, and the share of the cheapest flasks where nothing is left out."""
    known = _known(trees.problem)
    bounds = dict.fromkeys(LEVELS, 0)
    bounds["left out"] = known.left(plan, whole=whole)
    full = plan.levels[0].value <= known.impossible
    if full:
        bounds["weighted days late"] = known.alone
        bounds["flasks and loads"] = known.share
    bounds["weighted days late"] = max(bounds["weighted days late"], known.late(plan, whole=whole))
    return bounds


def prepare(problem: Problem) -> None:
    """What all bounds on costs need, worked out at once: beside a search it would take many times as long."""
    known = _known(problem)
    known.impossible  # noqa: B018 - kept once it has been asked for
    for family in known.families:
        family.worth  # noqa: B018


def possible(trees: Trees) -> dict[str, int]:
    """Pieces by job that are in no fixed flask and that some plan casts."""
    impossible = _impossible(trees)
    return {j: n for j, n in pieces_wanted(trees.problem).items() if n and j not in impossible}


class _Known:
    """What has been worked out for one problem. Each bound is asked of the program only where the plan does not
    meet a simpler one."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.trees = Trees(problem)
        self.kept: dict[tuple[Aim, Limits, bool], int] = {}
        self.took: dict[tuple[Aim, bool], float] = {}
        """seconds that the last answer of its kind took"""
        self.until = math.inf
        """of the clock, when there is no more time"""

    @cached_property
    def wanted(self) -> dict[str, int]:
        return possible(self.trees)

    @cached_property
    def impossible(self) -> int:
        """The weight of what no plan casts."""
        return sum(self.problem.job[j].weight * n for j, n in _impossible(self.trees).items())

    @cached_property
    def alone(self) -> int:
        return _least_late(self.trees, self.wanted)

    @cached_property
    def share(self) -> int:
        return _least_cost(self.trees, self.wanted)

    @cached_property
    def families(self) -> list[Family]:
        return families(self.trees, self.wanted)

    @cached_property
    def prices(self) -> Prices:
        return Prices(self.trees, self.wanted)

    @cached_property
    def fixed_late(self) -> int:
        """Weighted days late of jobs that are in fixed flasks only."""
        return _late_already(self.problem, {j.id for j in self.problem.jobs if j.id not in self.wanted})

    def left(self, plan: Plan, *, whole: bool) -> int:
        value = plan.levels[0].value
        if value <= self.impossible:
            return self.impossible
        return self.impossible + self._least(Aim.LEFT, Limits(left=value - self.impossible), whole=whole)

    def late(self, plan: Plan, *, whole: bool) -> int:
        spare = plan.levels[0].value - self.impossible
        if plan.levels[1].value <= (self.alone if spare <= 0 else 0):
            return 0
        return self.fixed_late + self._least(Aim.LATE, Limits(left=max(0, spare)), whole=whole)

    def cost(self, plan: Plan, *, whole: bool) -> int:
        spare, late = plan.levels[0].value - self.impossible, plan.levels[1].value - self.fixed_late
        fixed = _fixed_cost(self.problem)
        if plan.levels[2].value <= (self.share if spare <= 0 else fixed):
            return fixed
        return fixed + self._least(Aim.COST, Limits(left=max(0, spare), late=late), whole=whole)

    def _least(self, aim: Aim, limits: Limits, *, whole: bool) -> int:
        """With whole flasks and loads nothing is lower than without."""
        whole = whole and len(self.wanted) <= FEW
        if (aim, limits, whole) in self.kept:
            return self.kept[aim, limits, whole]
        began = time.monotonic()
        if began + self.took.get((aim, whole), 0) > self.until:
            return self._of_looser(aim, limits)
        found = self._found(aim, limits, whole=whole)
        self.took[aim, whole] = time.monotonic() - began
        if time.monotonic() > self.until:  # the clock may have ended it
            return max(found, self._of_looser(aim, limits))
        self.kept[aim, limits, whole] = found
        return found

    def _of_looser(self, aim: Aim, limits: Limits) -> int:
        """The best that is known where more may be left out or late: of more plans the least is no more."""
        return max((n for (a, other, _), n in self.kept.items() if a is aim and other.holds(limits)), default=0)

    def _found(self, aim: Aim, limits: Limits, *, whole: bool) -> int:
        clock = max(LEAST, self.until - time.monotonic())
        if not whole:
            return least(self.trees, self.wanted, aim, limits, seconds=clock, known=self.families)
        self.prices.until = time.monotonic() + min(PRICED, 0.5 * clock)
        clock = min(SECONDS, clock)
        found = least(self.trees, self.wanted, aim, limits, NODES, clock, known=self.families, prices=self.prices)
        return max(found, self._least(aim, limits, whole=False))


class _Same:
    """A problem that equals itself only, so that what is worked out for it can be kept."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem

    def __hash__(self) -> int:
        return id(self.problem)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.problem is self.problem


def _known(problem: Problem) -> _Known:
    return _known_of(_Same(problem))


@lru_cache(maxsize=4)
def _known_of(same: _Same) -> _Known:
    return _Known(same.problem)


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
    """Each job by itself in an empty shop, on the first day on which it may be cast."""
    days = Days(trees, tuple(trees.problem.job[j] for j in wanted))
    total = 0
    for job in trees.problem.jobs:
        fixed = [f.knockout_end for f in trees.problem.fixed_flasks if job.id in f.contents]
        late = [job.weight * (days.hours.day_index(end) - days.hours.due_index(job.due)) for end in fixed]
        if job.id in wanted:
            late.append(min(days.late(job).values(), default=0))
        total += max([0, *late])
    return total


def _least_cost(trees: Trees, wanted: dict[str, int]) -> int:
    """What is fixed, then for each melt its share of the cheapest flasks, then loads for that many flasks."""
    flasks = [least_flasks(trees, melt, jobs, wanted) for melt, jobs in _by_melt(trees, wanted).items()]
    loads = least_loads(trees.problem, sum(count for count, _ in flasks))
    return _fixed_cost(trees.problem) + sum(price for _, price in flasks) + loads


def most_slots(trees: Trees, plan: Plan) -> tuple[dict[str, int], dict[str, int]] | None:
    """How many flasks per melt, and loads per kiln, a plan may have that is not dearer than this one. None
    where the levels before cost are not proven, because then a dearer plan may be better, and where something
    is left out that could be planned, because the cheapest flasks are those of everything that can."""
    bounds = _first_bounds(trees, plan)
    if plan.levels[0].value > _known(trees.problem).impossible or any(
        level.value > bounds[level.name] for level in plan.levels[:2]
    ):
        return None
    problem, wanted = trees.problem, possible(trees)
    jobs = _by_melt(trees, wanted)
    prices = {m: least_flasks(trees, m, mine, wanted) for m, mine in jobs.items()}
    loads = least_loads(problem, sum(count for count, _ in prices.values()))
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
