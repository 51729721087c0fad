"""What flasks and loads cost at least: a linear program over days, which every plan of the week keeps.

Nothing of it comes from a plan. A plan in which nothing is left out that could be planned, and which is late
by no more than a given number, gives the program values that keep all of its rows:

- a flask is counted to the shift in which the first flask of its load is cast, so a load is counted once,
  to one day; no job is counted to a day before its patterns can be through bench, program and soak;
- the pieces of a job on a day are no more than its quantity times the loads of that day;
- the flasks of a day by size stand in its loads, which are among the fullest that the floors hold;
- a flask's pieces share a temperature, weigh no more than its crucible takes, take no more of the trunk than
  there is, are worth no more than a tree of its size can be (``columns_trees``), and no job has more pieces
  in it than it would have alone;
- of the jobs that fit between two days, the flasks between these days cost at least the next sum of flask
  prices above what the pieces are worth;
- weighted days late, counted piece by piece, are no more than the given number.

What is left aside (times within the day, machines, people, bench, flasks owned, metal) only makes plans
dearer. Where whole flasks and loads are asked for, the bound is that of branch and bound when it stops.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from domain.mould.floor import stands
from domain.mould.tree import reaches_inside
from domain.planning.baseline.hours import Hours
from domain.planning.baseline.trees import Trees
from domain.planning.problem import PlanDay, PlanJob
from domain.planning.search.columns_loads import full_loads
from domain.planning.search.columns_lp import Programme
from domain.planning.search.columns_trees import Item, Trunk, good_worths, most_worth
from domain.shop.burnout import Kiln
from domain.shop.flask import FlaskSize

SMALL = 1e-3
"""What is taken off before a value is rounded up: far more than the solver's tolerance."""
LARGE = 12_000
"""Jobs by days and sizes, above which all days are taken as one."""
MOST_SUMS = 100_000
"""Cost up to which sums of prices are listed."""
CROWD = 150
"""Jobs that share a temperature, above which nobody looks for good worths."""


@dataclass(frozen=True)
class Days:
    """For each job the days on which it may be counted, and the weighted days that it is then late at least."""

    trees: Trees
    jobs: tuple[PlanJob, ...]

    @cached_property
    def hours(self) -> Hours:
        return Hours(self.trees.problem)

    @cached_property
    def days(self) -> tuple[PlanDay, ...]:
        return self.hours.cast_days

    def late(self, job: PlanJob) -> dict[int, int]:
        """By index of the day."""
        first = self._first_cast(job)
        if first is None:
            return {}
        melt = self.trees.problem.melt[job.melt]
        lasts = min(self.trees.problem.machine[m].minutes_per_cast for m in melt.machines)
        found: dict[int, int] = {}
        for index, day in enumerate(self.days):
            shifts = self.hours.shifts_of(day)
            at = max(first, min(s.opens for s in shifts))
            out = self.hours.knockout(at + lasts, melt.alloy.cooling.wait_minutes)
            if out and at + lasts <= max(s.closes for s in shifts) + self.trees.problem.rules.overtime_minutes:
                found[index] = job.weight * max(0, self.hours.day_index(out[1]) - self.hours.due_index(job.due))
        return found

    def _first_cast(self, job: PlanJob) -> int | None:
        """No load with a piece of this job is cast from sooner."""
        problem, rules = self.trees.problem, self.trees.problem.rules
        kinds = [problem.investment[i].bench_set_minutes for i in problem.melt[job.melt].investments]
        programs = [p.minutes for p in problem.shop.programs if p.minutes >= job.burnout_minutes and p.peak >= job.burnout_peak]
        invested = self.hours.next_open(max(job.ready, problem.now))
        if invested is None or not kinds or not programs:
            return None
        loaded = self.hours.next_open(invested + rules.invest_minutes + min(kinds))
        return None if loaded is None else loaded + min(programs) + rules.soak_minutes


@dataclass(frozen=True)
class Family:
    """The jobs of one melt that share a temperature, and the flasks for them. ``own``: those of its jobs
    that share a temperature with no other family."""

    trees: Trees
    melt: str
    jobs: tuple[PlanJob, ...]
    own: frozenset[str]
    wanted: Mapping[str, int]

    @cached_property
    def sizes(self) -> tuple[FlaskSize, ...]:
        return self.trees.usable_sizes(self.melt)

    @cached_property
    def crucible(self) -> dict[str, int]:
        """By size, what the pieces may weigh."""
        return {
            s.id: max(self.trees.most_metal(self.melt, s.id, m.id).base for m in self.trees.machines(self.melt, s.id))
            for s in self.sizes
        }

    def most(self, job: PlanJob, size: str) -> int:
        """How many of the job a flask of this size holds; none of one that may not be split and does not fit whole."""
        rules, space = self.trees.problem.rules, self.trees.space(size)
        count = job.per_tree.get(size) or 0
        if not count and reaches_inside(job.size, space):
            around = space.circle.base // (job.size.width + rules.piece_gap).base
            count = around * ((space.height + rules.ring_gap).base // (job.size.height + rules.ring_gap).base)
        count = min(count, max(0, self.crucible[size]) // max(1, job.metal_each.base), self.wanted[job.id])
        return count if space.height.base > 0 and (job.may_split or count >= self.wanted[job.id]) else 0

    def share(self, job: PlanJob, size: str) -> float:
        """The share of circle times trunk that one piece takes at least."""
        rules, space = self.trees.problem.rules, self.trees.space(size)
        trunk = (space.height + rules.ring_gap).base
        if job.per_tree.get(size):
            return space.height.base / job.per_tree[size] / trunk
        box = (job.size.width + rules.piece_gap).base * (job.size.height + rules.ring_gap).base
        return box / (space.circle.base * trunk)

    @cached_property
    def trunks(self) -> tuple[Trunk, ...]:
        return tuple(t for s in self.sizes if (t := self._trunk(s)).items)

    def _trunk(self, size: FlaskSize) -> Trunk:
        rules, space = self.trees.problem.rules, self.trees.space(size.id)
        items = [
            Item(j.id, (j.size.width + rules.piece_gap).base, (j.size.height + rules.ring_gap).base, self.wanted[j.id])
            for j in self.jobs
            if j.id in self._plain and self.most(j, size.id)
        ]
        items.sort(key=lambda i: (i.height, i.width, i.job))
        return Trunk(size.id, space.circle.base, (space.height + rules.ring_gap).base, size.cost, tuple(items))

    @cached_property
    def worth(self) -> dict[str, float]:
        """Worths by job; a job that the shop counts for itself in some size is worth nothing."""
        return good_worths(self.trunks, self._plain) if len(self._plain) <= CROWD and self.trunks else {}

    @cached_property
    def _plain(self) -> dict[str, int]:
        return {j.id: self.wanted[j.id] for j in self.jobs if not any(j.per_tree.get(s.id) for s in self.sizes)}

    @cached_property
    def most_worth(self) -> dict[str, float]:
        return {t.size: most_worth(t, self.worth) for t in self.trunks}

    def least_price(self, jobs: Iterable[str]) -> int:
        """What flasks for these jobs cost at least."""
        most = max([self.most_worth[t.size] / t.cost if t.cost else math.inf for t in self.trunks], default=math.inf)
        jobs = list(jobs)
        pieces = sum(self.worth.get(j, 0.0) * self.wanted[j] for j in jobs) / max(1.0, most)
        metal = sum(self.trees.problem.job[j].metal_each.base * self.wanted[j] for j in jobs)
        weighed = min((metal * s.cost / self.crucible[s.id] for s in self.sizes if self.crucible[s.id] > 0), default=0.0)
        return _next_sum([s.cost for s in self.sizes], max(pieces, weighed, 1.0))


def _next_sum(prices: Sequence[int], least: float) -> int:
    """The least sum of one or more prices that is not below ``least``; 0 where a flask costs nothing."""
    whole = sorted({p for p in prices if p > 0})
    if not whole or min(prices) <= 0:
        return 0
    target = math.ceil(least - SMALL)
    if target > MOST_SUMS:
        return target
    top = target + max(whole)
    sums = [True] + [False] * top
    for at in range(1, top + 1):
        sums[at] = any(p <= at and sums[at - p] for p in whole)
    return next(at for at in range(max(1, target), top + 1) if sums[at])


def families(trees: Trees, wanted: Mapping[str, int]) -> list[Family]:
    """For each melt the largest sets of jobs that share a temperature."""
    by_melt: dict[str, list[PlanJob]] = defaultdict(list)
    for j in wanted:
        by_melt[trees.problem.job[j].melt].append(trees.problem.job[j])
    return [family for melt, jobs in by_melt.items() for family in _families(trees, melt, jobs, wanted)]


def _families(trees: Trees, melt: str, jobs: Sequence[PlanJob], wanted: Mapping[str, int]) -> list[Family]:
    at = sorted({j.temperatures.low for j in jobs})
    sets = dict.fromkeys(frozenset(j.id for j in jobs if j.temperatures.low <= t <= j.temperatures.high) for t in at)
    largest = [s for s in sets if not any(s < other for other in sets)]
    own = [s - frozenset().union(*(o for o in largest if o is not s)) for s in largest]
    return [Family(trees, melt, tuple(j for j in jobs if j.id in s), mine, wanted) for s, mine in zip(largest, own, strict=True)]


@dataclass
class Floors:
    """Loads by day: the variables that count them, and what they hold by size."""

    model: Programme
    sizes: Sequence[FlaskSize]
    holds: dict[int, dict[int, tuple[float, ...]]] = field(default_factory=lambda: defaultdict(dict))

    def add(self, day: int, kilns: Iterable[Kiln]) -> None:
        cheapest: dict[tuple[float, ...], int] = {}
        for kiln in kilns:
            for load in self._loads(kiln):
                cheapest[load] = min(cheapest.get(load, kiln.cost), kiln.cost)
        for load, cost in cheapest.items():
            self.holds[day][self.model.variable(cost, whole=True)] = load

    def _loads(self, kiln: Kiln) -> Sequence[tuple[float, ...]]:
        gap = kiln.gap.base
        sides = tuple(max(1, s.outer_diameter.base + gap) if stands(s.height, kiln) else 0 for s in self.sizes)
        width, depth = kiln.width.base - gap, kiln.depth.base - gap
        loads = full_loads(sides, width, depth)
        if loads is not None:
            return loads
        return [tuple((width // s) * (depth // s) if s else 0 for s in sides)]


@dataclass
class Week:
    """The program, built once."""

    days: Days
    families: Sequence[Family]
    late: dict[str, dict[int, int]]
    wanted: Mapping[str, int]
    model: Programme = field(default_factory=Programme)
    flasks: dict[tuple[int, int, str], int] = field(default_factory=dict)
    """by family, day and size"""
    pieces: dict[tuple[str, int], list[int]] = field(default_factory=lambda: defaultdict(list))
    """by job and day"""
    loads: dict[int, int] = field(default_factory=dict)
    """how many, by day"""

    def build(self, limit: int, fixed_late: int) -> None:
        problem = self.days.trees.problem
        floors = Floors(self.model, problem.shop.sizes)
        for index, family in enumerate(self.families):
            for day in sorted({d for j in family.jobs for d in self.late[j.id]}):
                self._flasks(index, family, day)
            self._prices(index, family)
        for day in sorted({d for _, d, _ in self.flasks}):
            floors.add(day, [k for k in problem.shop.kilns if k.in_service])
            self._stand(floors, day)
        self._demand()
        late = {v: self.late[j][d] / self.wanted[j] for (j, d), some in self.pieces.items() for v in some if self.late[j][d]}
        if late:
            self.model.row(late, high=limit - fixed_late)

    def _flasks(self, index: int, family: Family, day: int) -> None:
        jobs = [j for j in family.jobs if day in self.late[j.id]]
        for size in family.sizes:
            most = {j.id: n for j in jobs if (n := family.most(j, size.id))}
            if most:
                self._one_size(index, family, day, size, most)

    def _one_size(self, index: int, family: Family, day: int, size: FlaskSize, most: Mapping[str, int]) -> None:
        model = self.model
        flasks = self.flasks[index, day, size.id] = model.variable(size.cost, whole=True)
        pieces = {j: model.variable() for j in most}
        for j, v in pieces.items():
            self.pieces[j, day].append(v)
            model.row({v: 1.0, flasks: -float(most[j])}, high=0)
        job = self.days.trees.problem.job
        rules = (
            {j: family.share(job[j], size.id) for j in most},
            {j: job[j].metal_each.base / family.crucible[size.id] for j in most},
            {j: family.worth.get(j, 0.0) / max(1e-9, family.most_worth.get(size.id, 0.0)) for j in most},
        )
        for shares in rules:
            terms = {pieces[j]: s for j, s in shares.items() if s > 0}
            if sum(s * most[j] for j, s in shares.items()) > 1:
                model.row({**terms, flasks: -1.0}, high=0)

    def _prices(self, index: int, family: Family) -> None:
        """Between any two days, flasks for the jobs that fit nowhere else."""
        spans = {j: (min(self.late[j]), max(self.late[j])) for j in family.own if self.late[j]}
        for first in sorted({a for a, _ in spans.values()}):
            before = 0
            for last in sorted({b for _, b in spans.values()}):
                inside = [j for j, (a, b) in spans.items() if first <= a and b <= last]
                if len(inside) > before:
                    before = len(inside)
                    between = {v: (family, s) for (i, d, s), v in self.flasks.items() if i == index and first <= d <= last}
                    costs = {v: float(self.days.trees.problem.size[s].cost) for v, (_, s) in between.items()}
                    self.model.row(costs, low=family.least_price(inside))

    def _stand(self, floors: Floors, day: int) -> None:
        model, loads = self.model, floors.holds[day]
        for n, size in enumerate(floors.sizes):
            flasks = {v: 1.0 for (_, d, s), v in self.flasks.items() if d == day and s == size.id}
            if flasks:
                model.row({**flasks, **{v: -float(load[n]) for v, load in loads.items() if load[n]}}, high=0)
        count = self.loads[day] = model.variable(whole=True)
        model.row({**dict.fromkeys(loads, 1.0), count: -1.0}, low=0, high=0)
        for (j, d), some in self.pieces.items():
            if d == day:
                model.row({**dict.fromkeys(some, 1.0), count: -float(self.wanted[j])}, high=0)

    def _demand(self) -> None:
        by_job: dict[str, list[int]] = defaultdict(list)
        for (j, _), some in self.pieces.items():
            by_job[j] += some
        for j, some in by_job.items():
            self.model.row(dict.fromkeys(some, 1.0), low=self.wanted[j], high=self.wanted[j])


def least_cost(trees: Trees, wanted: Mapping[str, int], limit: int, fixed_late: int, nodes: int = 0, seconds: float = 0) -> int:
    """What new flasks and loads for all ``wanted`` pieces cost at least, where the week may be ``limit``
    weighted days late, ``fixed_late`` of which cannot be helped. 0 where nothing can be said."""
    week = week_of(trees, wanted, limit, fixed_late)
    if week is None:
        return 0
    found = week.model.least_whole(nodes, seconds) if nodes else week.model.least()
    return 0 if found is None else max(0, math.ceil(found.value - SMALL))


def week_of(trees: Trees, wanted: Mapping[str, int], limit: int, fixed_late: int) -> Week | None:
    """The program for all ``wanted`` pieces; none where a job has no day."""
    days = Days(trees, tuple(trees.problem.job[j] for j in wanted))
    late = _within(days, limit - fixed_late)
    if any(not d for d in late.values()):
        return None
    if sum(len(d) for d in late.values()) * len(trees.problem.shop.sizes) > LARGE:
        late = {j: {0: 0} for j in late}
    week = Week(days, families(trees, wanted), late, wanted)
    week.build(limit, fixed_late)
    return week


def _within(days: Days, limit: int) -> dict[str, dict[int, int]]:
    """The days of each job, without those on which it alone would make the week too late."""
    late = {j.id: days.late(j) for j in days.jobs}
    least = {j: min(some.values(), default=0) for j, some in late.items()}
    spare = limit - sum(least.values())
    return {j: {d: n for d, n in some.items() if n - least[j] <= spare} for j, some in late.items()}
