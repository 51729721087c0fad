"""What a week leaves out, is late and costs at least: a linear program over days, which every plan of it keeps.

Nothing of it comes from a plan. A plan that leaves out no more than a given number, and is late by no more than
another, gives the program values that keep all of its rows:

- a flask is counted to the shift in which the first flask of its load is cast, so a load is counted once,
  to one day; no job is counted to a day before its patterns can be through bench, program and soak;
- the pieces of a job on a day are no more than its quantity times the loads of that day whose programs are as long
  as it needs, and so it is with flasks of a size;
- the flasks of a day by size stand in its loads, which are among the fullest that the floors hold;
- between two days there are no more loads, uses of the flasks owned, casts and turns at the bench than
  ``columns_days`` counts, and up to the day before new metal comes no more is charged than the shelf can make;
- a flask's pieces share a temperature, weigh no more than its crucible takes, take no more of the trunk than
  there is, are worth no more than a tree of its size can be (``columns_trees``), and no job has more pieces
  in it than it would have alone;
- where nothing is left out, of the jobs that fit between two days, the flasks between these days cost at least the
  next sum of flask prices above what the pieces are worth, and what the solver proves of the flasks of a few jobs
  of a melt alone (``columns_prices``);
- weighted days late, counted piece by piece, or where whole numbers are asked for by the day of a job's last piece,
  are no more than the given number, and what is left out no more than its.

The same rows bound each of the three: least left out, least late, least cost. Where whole flasks and loads are
asked for, the bound is that of branch and bound when it stops.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum, auto
from functools import cached_property

from domain.mould.floor import stands
from domain.planning.baseline.trees import Trees
from domain.planning.search.columns_days import Days, Room
from domain.planning.search.columns_families import SMALL, Family, families
from domain.planning.search.columns_loads import full_loads
from domain.planning.search.columns_lp import Programme
from domain.planning.search.columns_prices import Prices
from domain.planning.search.columns_room import RoomRows
from domain.shop.burnout import Kiln
from domain.shop.flask import FlaskSize

LARGE = 12_000
"""Jobs by days and sizes, above which all days are taken as one."""


class Aim(Enum):
    """What the program keeps low."""

    LEFT = auto()
    LATE = auto()
    COST = auto()


@dataclass(frozen=True, slots=True)
class Limits:
    """``left``: weighted pieces that may be left out. ``late``: weighted days late, none where any number will do."""

    left: int = 0
    late: int | None = None

    def holds(self, other: Limits) -> bool:
        """Whether every plan within the other limits is within these."""
        return self.left >= other.left and (self.late is None or (other.late is not None and self.late >= other.late))


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
    limits: Limits
    whole: bool = False
    """all days are taken as one"""
    prices: Prices | None = None
    """asks the solver what a few jobs' flasks cost"""
    model: Programme = field(default_factory=Programme)
    flasks: dict[tuple[int, int, str], int] = field(default_factory=dict)
    """by family, day and size"""
    pieces: dict[tuple[str, int], list[int]] = field(default_factory=lambda: defaultdict(list))
    """by job and day"""
    inside: dict[tuple[int, int, str], dict[str, int]] = field(default_factory=dict)
    """pieces by family, day and size, and job"""
    loads: dict[int, int] = field(default_factory=dict)
    """how many, by day"""
    tiers: dict[tuple[int, int], int] = field(default_factory=dict)
    """loads by day and least minutes of their program"""
    out: dict[str, int] = field(default_factory=dict)
    """pieces left out, by job"""
    ends: dict[int, float] = field(default_factory=dict)
    """weighted days late by the variable that says on which day a job's last pieces are cast, where that is asked"""

    def build(self) -> None:
        problem = self.days.trees.problem
        floors = Floors(self.model, problem.shop.sizes)
        for index, family in enumerate(self.families):
            for day in sorted({d for j in family.jobs for d in self.late[j.id]}):
                self._flasks(index, family, day)
        if not self.limits.left:
            self._prices()
        for day in sorted({d for _, d, _ in self.flasks}):
            floors.add(day, [k for k in problem.shop.kilns if k.in_service])
            self._stand(floors, day)
        self._demand()
        if self.flasks and not self.whole:
            RoomRows(self.model, self._room, self.families, self.flasks, self.tiers).add(self.inside)
        if self.limits.late is not None and self.lateness:
            self.model.row(self.lateness, high=self.limits.late)

    @cached_property
    def _room(self) -> Room:
        return Room(self.days)

    def ended(self) -> None:
        """A job is as late as its last piece: it ends on one day, and none of its pieces is cast after that. Says
        nothing new in fractions."""
        if self.whole:
            return
        days: dict[str, list[int]] = defaultdict(list)
        for j, d in sorted(self.pieces):
            days[j].append(d)
        for j, mine in days.items():
            ends = {d: self.model.variable(whole=True) for d in mine}
            self.model.row(dict.fromkeys(ends.values(), 1.0), high=1)
            self.ends |= {v: float(self.late[j][d]) for d, v in ends.items() if self.late[j][d]}
            for first in mine:
                later = [d for d in mine if d >= first]
                pieces = {v: 1.0 for d in later for v in self.pieces[j, d]}
                self.model.row({**pieces, **{ends[d]: -float(self.wanted[j]) for d in later}}, high=0)
        if self.limits.late is not None and self.ends:
            self.model.row(self.ends, high=self.limits.late)

    @property
    def lateness(self) -> dict[int, float]:
        """Weighted days late, by variable."""
        if self.ends:
            return self.ends
        return {v: self.late[j][d] / self.wanted[j] for (j, d), some in self.pieces.items() for v in some if self.late[j][d]}

    def aimed(self, aim: Aim) -> Programme:
        """The same rows with another cost."""
        if aim is Aim.COST:
            return self.model
        weights = {v: float(self.days.trees.problem.job[j].weight) for j, v in self.out.items()}
        return self.model.costing(self.lateness if aim is Aim.LATE else weights)

    def _flasks(self, index: int, family: Family, day: int) -> None:
        jobs = [j for j in family.jobs if day in self.late[j.id]]
        for size in family.sizes:
            most = {j.id: n for j in jobs if (n := family.most(j, size.id))}
            if most:
                self._one_size(index, family, day, size, most)

    def _one_size(self, index: int, family: Family, day: int, size: FlaskSize, most: Mapping[str, int]) -> None:
        model = self.model
        flasks = self.flasks[index, day, size.id] = model.variable(size.cost, whole=True)
        pieces = self.inside[index, day, size.id] = {j: model.variable() for j in most}
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

    def _prices(self) -> None:
        """Between any two days, flasks for the jobs that fit nowhere else: those that share a temperature with no other
        family, and where the solver is asked, those of a melt."""
        for index, family in enumerate(self.families):
            for first, last, inside in self._nowhere_else(family.own):
                self.model.row(self._costs({index}, first, last), low=family.least_price(inside))
        if self.prices is None:
            return
        for melt in dict.fromkeys(f.melt for f in self.families):
            mine = {n: f for n, f in enumerate(self.families) if f.melt == melt}
            for first, last, inside in self._nowhere_else({j.id for f in mine.values() for j in f.jobs}):
                known = max(
                    (f.least_price(f.own.intersection(inside)) for f in mine.values() if f.own.intersection(inside)), default=0
                )
                self.model.row(self._costs(mine, first, last), low=self.prices.of(melt, inside, known))

    def _nowhere_else(self, jobs: Iterable[str]) -> Iterator[tuple[int, int, list[str]]]:
        """Pairs of days, and the jobs that are cast between them if at all."""
        spans = {j: (min(self.late[j]), max(self.late[j])) for j in jobs if self.late[j]}
        for first in sorted({a for a, _ in spans.values()}):
            before = 0
            for last in sorted({b for _, b in spans.values()}):
                inside = [j for j, (a, b) in spans.items() if first <= a and b <= last]
                if len(inside) > before:
                    before = len(inside)
                    yield first, last, inside

    def _costs(self, families: Container[int], first: int, last: int) -> dict[int, float]:
        """Of these families' flasks between two days, by variable."""
        size = self.days.trees.problem.size
        return {v: float(size[s].cost) for (i, d, s), v in self.flasks.items() if i in families and first <= d <= last}

    def _stand(self, floors: Floors, day: int) -> None:
        model, loads = self.model, floors.holds[day]
        for n, size in enumerate(floors.sizes):
            flasks = {v: 1.0 for (_, d, s), v in self.flasks.items() if d == day and s == size.id}
            if flasks:
                model.row({**flasks, **{v: -float(load[n]) for v, load in loads.items() if load[n]}}, high=0)
        count = self.loads[day] = model.variable(whole=True)
        model.row({**dict.fromkeys(loads, 1.0), count: -1.0}, low=0, high=0)
        self._tiers_of(day, count)
        most = {s.id: max((load[n] for load in loads.values()), default=0) for n, s in enumerate(floors.sizes)}
        for (_, d, s), v in self.flasks.items():
            if d == day and (minutes := self._program_of(s)) > self._tiers[0]:
                model.row({v: 1.0, self.tiers[day, minutes]: -float(most[s])}, high=0)
        for (j, d), some in self.pieces.items():
            if d == day:
                enough = self.tiers[day, self._needs[j]]
                model.row({**dict.fromkeys(some, 1.0), enough: -float(self.wanted[j])}, high=0)

    def _tiers_of(self, day: int, count: int) -> None:
        """Loads with longer programs are among those with shorter ones."""
        self.tiers[day, self._tiers[0]] = before = count
        for minutes in self._tiers[1:]:
            longer = self.tiers[day, minutes] = self.model.variable(whole=True)
            self.model.row({longer: 1.0, before: -1.0}, high=0)
            before = longer

    @cached_property
    def _needs(self) -> dict[str, int]:
        return {j.id: self.days.needs(j) or 0 for j in self.days.jobs}

    @cached_property
    def _tiers(self) -> list[int]:
        sizes = {self._program_of(s) for _, _, s in self.flasks}
        least = min(self._needs.values(), default=0)
        return sorted({least, *self._needs.values(), *(m for m in sizes if m > least)})

    def _program_of(self, size: str) -> int:
        burnout = self.days.trees.problem.size[size].burnout_minutes
        return min((p.minutes for p in self.days.trees.problem.shop.programs if p.minutes >= burnout), default=0)

    def _demand(self) -> None:
        by_job: dict[str, list[int]] = {j: [] for j in self.wanted}
        for (j, _), some in self.pieces.items():
            by_job[j] += some
        out: dict[int, float] = {}
        for j, some in by_job.items():
            terms = dict.fromkeys(some, 1.0)
            if self.limits.left:
                terms[self.model.variable()] = 1.0
                self.out[j] = len(self.model.costs) - 1
                out[self.out[j]] = float(self.days.trees.problem.job[j].weight)
            self.model.row(terms, low=self.wanted[j], high=self.wanted[j])
        if out:
            self.model.row(out, high=self.limits.left)


def least_cost(
    trees: Trees, wanted: Mapping[str, int], limit: int, fixed_late: int, nodes: int = 0, seconds: float = math.inf
) -> int:
    """What new flasks and loads for all ``wanted`` pieces cost at least, where the week may be ``limit``
    weighted days late, ``fixed_late`` of which cannot be helped. 0 where nothing can be said."""
    return least(trees, wanted, Aim.COST, Limits(late=limit - fixed_late), nodes, seconds)


def least(
    trees: Trees,
    wanted: Mapping[str, int],
    aim: Aim,
    limits: Limits,
    nodes: int = 0,
    seconds: float = math.inf,
    known: Sequence[Family] | None = None,
    prices: Prices | None = None,
) -> int:
    """What new flasks for the ``wanted`` pieces leave out, are late or cost at least within these limits.
    0 where nothing can be said in time. ``seconds``: for the solver, where there are ``nodes`` or a clock.
    ``known``: the families of these pieces, where they are at hand. ``prices``: asks the solver."""
    week = _built(trees, wanted, limits, known, prices if aim is Aim.COST else None, by_days=aim is not Aim.COST)
    if week is None:
        return 0
    if nodes:
        week.ended()
    model = week.aimed(aim)
    found = model.least_whole(nodes, seconds) if nodes else model.least(seconds)
    return 0 if found is None else max(0, math.ceil(found.value - SMALL))


def week_of(trees: Trees, wanted: Mapping[str, int], limit: int, fixed_late: int) -> Week | None:
    """The program for all ``wanted`` pieces; none where a job has no day."""
    return _built(trees, wanted, Limits(late=limit - fixed_late))


def _built(
    trees: Trees,
    wanted: Mapping[str, int],
    limits: Limits,
    known: Sequence[Family] | None = None,
    prices: Prices | None = None,
    *,
    by_days: bool = False,
) -> Week | None:
    """``by_days``: none where the days are taken as one."""
    fixed = {f.id for f in trees.problem.fixed_flasks}
    if any(f not in fixed for load in trees.problem.fixed_loads for f in load.flasks):
        return None  # a flask that is not fixed may ride a load that is, for nothing
    days = Days(trees, tuple(trees.problem.job[j] for j in wanted))
    late = _within(days, limits)
    if not wanted or (not limits.left and any(not d for d in late.values())):
        return None
    whole = sum(len(d) for d in late.values()) * len(trees.problem.shop.sizes) > LARGE
    if whole and by_days:
        return None
    if whole:
        late = {j: {0: 0} for j in late}
    week = Week(days, families(trees, wanted) if known is None else known, late, wanted, limits, whole, prices)
    week.build()
    return week


def _within(days: Days, limits: Limits) -> dict[str, dict[int, int]]:
    """The days of each job, without those on which it alone would make the week too late."""
    late = {j.id: days.late(j) for j in days.jobs}
    if limits.late is None:
        return late
    least = {j: 0 if limits.left else min(some.values(), default=0) for j, some in late.items()}
    spare = limits.late - sum(least.values())
    return {j: {d: n for d, n in some.items() if n - least[j] <= spare} for j, some in late.items()}
