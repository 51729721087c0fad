"""Tiny weeks on a grid of whole hours, and every plan of such a week.

All durations and hours are whole hours, so that for any choice of flasks, loads and orders the best
times lie on whole hours too: the rest is differences between times with whole-hour bounds. One kiln,
which may run unattended, and one machine: loads follow one another, and so do their casts.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from types import ModuleType

from domain.planning.checking import arithmetic
from domain.planning.problem import PlanJob, Problem
from domain.shop.shop import ShopRules
from domain.units import Mass, TemperatureRange

HOUR = 60


def tiny_week(studio: ModuleType, seed: int) -> Problem:
    """Two to five jobs with two to five pieces in all, one or two sizes, two or three days."""
    rng = random.Random(f"tiny {seed}")
    rules = ShopRules(
        invest_minutes=HOUR,
        knockout_minutes=HOUR,
        soak_minutes=HOUR,
        step_soak_minutes=rng.choice([HOUR, 2 * HOUR]),
        hot_hold_minutes=rng.choice([2, 4, 10]) * HOUR,
        crucible_change_minutes=rng.choice([0, HOUR]),
        overtime_minutes=rng.choice([0, HOUR, 2 * HOUR]),
    )
    sizes = [studio.size("small", 64, 70, rng.choice([1, 2, 2, 3]), 8, 5 * HOUR)]
    if rng.random() < 0.6:
        sizes.append(studio.size("large", 84, 90, rng.choice([1, 2]), 11, 6 * HOUR))
    programs = [studio.program("short", 5 * HOUR, 730), studio.program("long", 8 * HOUR, 735)]
    kiln = replace(studio.kiln("kiln", rng.choice([105, 190, 210, 280]), 120), cooldown_minutes=HOUR)
    machine = studio.machine("caster", sizes, grams=rng.choice([40, 80, 250, 250]), minutes=HOUR)
    people = [studio.person("caster", 9 * HOUR, rng.choice([14, 16]) * HOUR)]
    people.append(studio.person("helper", 8 * HOUR, 18 * HOUR, casts=False))
    metals = [_alloy(a, rng) for a in rng.sample(list(studio.ALLOYS[:5]), rng.choice([1, 1, 2]))]
    jobs = _jobs(studio, rng, metals, days := rng.choice([2, 3, 3]))
    shop = studio.shop(sizes, [kiln], [machine], people, programs, rules, metals)
    melts = studio.melts_of(shop, jobs)
    if rng.random() < 0.25:
        order = rng.choice([None, 1 * 24 * HOUR + 8 * HOUR])
        melts = tuple(replace(m, stock_castable=Mass.g(rng.choice([25, 45, 80])), order_from=order) for m in melts)
    return studio.problem(shop, jobs, days=days, now=6 * HOUR, melts=melts)


def _alloy(alloy, rng: random.Random):  # type: ignore[no-untyped-def]
    return replace(alloy, cooling=replace(alloy.cooling, wait_minutes=HOUR * rng.choice([0, 1])))


def _jobs(studio: ModuleType, rng: random.Random, metals: Sequence[object], days: int) -> list[PlanJob]:
    jobs: list[PlanJob] = []
    pieces = rng.choice([2, 3, 3, 3, 4, 4, 4, 4, 4, 5])
    while pieces and len(jobs) < 5:
        quantity = min(pieces, rng.choice([1, 1, 1, 2]))
        pieces -= quantity
        metal = rng.choice(metals)
        low = rng.choice([450, 500, 520])
        jobs.append(
            studio.job(
                f"J{len(jobs)}",
                metal.id,  # type: ignore[attr-defined]
                quantity,
                temperatures=TemperatureRange.c(low, low + rng.choice([40, 60])),
                grams=rng.choice([3, 6, 12, 20]),
                box=(rng.choice([8, 16, 30]), rng.choice([10, 18, 26]), 8),
                ready=rng.choice([0, 0, 0, 0, 10 * HOUR, 24 * HOUR]),
                due=rng.randrange(0, days),
                weight=rng.choice([1, 1, 2]),
                may_split=rng.random() < 0.8,
                per_tree={"small": 2} if rng.random() < 0.15 else None,
                burnout=rng.choice([5, 5, 7]) * HOUR,
            )
        )
    return jobs


@dataclass(frozen=True)
class _Flask:
    melt: str
    size: str
    pieces: tuple[str, ...]


class TooMany(Exception):
    """More plans than there is time for."""


class EveryPlan:
    """The best levels of a tiny week: left out, weighted days late, cost, overtime, changes, idle. Raises
    ``TooMany`` after ``most`` steps."""

    def __init__(self, problem: Problem, most: int = 10**9) -> None:
        self.p = problem
        self.most, self.looked = most, 0
        self.rules = problem.rules
        self.best: tuple[int, ...] = (10**9,)
        self.opens = {n: (d.opens, d.closes) for n, d in enumerate(problem.days) if d.opens is not None and d.closes is not None}
        casters = [s for s in problem.shifts if s.casts]
        self.shifts = {n: (s.opens, s.closes) for n, d in enumerate(problem.days) for s in casters if d.midnight <= s.opens < d.end}
        self.due = {j.id: next((n for n, d in enumerate(problem.days) if d.date == j.due), 0) for j in problem.jobs}
        self.families = {m.key: m.alloy.family for m in problem.melts}
        self.knockouts: dict[tuple[str, int], tuple[int, int] | None] = {}
        self.slots = [
            (n, t)
            for n, (a, b) in self.shifts.items()
            for t in range(a, b + self.rules.overtime_minutes - HOUR + 1, HOUR)
            if t >= problem.now
        ]

    def run(self) -> tuple[int, ...]:
        pieces = [j.id for j in self.p.jobs for _ in range(j.quantity)]
        found = set()
        for chosen in _subsets(pieces):
            if self._whole(chosen):
                for flasks in self._flasks(chosen):
                    found.add(tuple(sorted(flasks, key=lambda f: (f.melt, f.size, f.pieces))))
        ranked = sorted(found, key=lambda flasks: (self._left(flasks), self._price(flasks)))
        for flasks in ranked:
            self._schedules(flasks)
        return self.best

    def _whole(self, chosen: Sequence[str]) -> bool:
        return all(j.may_split or chosen.count(j.id) in (0, j.quantity) for j in self.p.jobs)

    def _left(self, flasks: Sequence[_Flask]) -> int:
        inside = [piece for f in flasks for piece in f.pieces]
        return sum(j.weight * (j.quantity - inside.count(j.id)) for j in self.p.jobs)

    def _price(self, flasks: Sequence[_Flask]) -> int:
        return sum(self.p.size[f.size].cost for f in flasks)

    def _flasks(self, pieces: Sequence[str]) -> Iterator[list[_Flask]]:
        """Every way to part the pieces into flasks that fit."""
        for parts in _partitions(list(pieces)):
            if any(len({self.p.job[x].melt for x in part}) > 1 for part in parts):
                continue
            if any(not j.may_split and sum(j.id in part for part in parts) > 1 for j in self.p.jobs):
                continue
            ways = [
                [_Flask(self.p.job[part[0]].melt, s, tuple(sorted(part))) for s in self.p.size if self._fits(part, s)]
                for part in parts
            ]
            yield from (list(way) for way in itertools.product(*ways))

    def _fits(self, part: Sequence[str], size_id: str) -> bool:
        size, jobs = self.p.size[size_id], [self.p.job[x] for x in part]
        low, high = max(j.temperatures.low for j in jobs), min(j.temperatures.high for j in jobs)
        machine = self.p.shop.machines[0]
        alloy = self.p.melt[jobs[0].melt].alloy
        charge = self._charge(part, size_id)
        by_volume = charge * arithmetic.MILLION < (machine.crucible_volume.base + 1) * alloy.density.base
        return low <= high and charge <= machine.crucible_mass.base and by_volume and self._tree(jobs, size)

    def _charge(self, part: Sequence[str], size_id: str) -> int:
        metal = sum(self.p.job[x].metal_each.base for x in part)
        return arithmetic.charge(metal, self.p.size[size_id], self.rules, self.p.melt[self.p.job[part[0]].melt].alloy)

    def _tree(self, jobs: Sequence[PlanJob], size) -> bool:  # type: ignore[no-untyped-def]
        gap, usable = self.rules.ring_gap.base, arithmetic.usable_height(size, self.rules)
        counted = {j.id: sum(x.id == j.id for x in jobs) for j in jobs if j.per_tree.get(size.id)}
        fixed = 0
        for job, n in counted.items():
            full = self.p.job[job].per_tree[size.id]
            if n > full:
                return False
            fixed += -(-n * usable // full) + gap
        ringed = [j for j in jobs if j.id not in counted]
        outer = arithmetic.root(size, self.rules)
        inside = size.inner_diameter.base // 2 - self.rules.wall_clearance.base
        if any((outer + j.size.reach.base) ** 2 + (j.size.width.base / 2) ** 2 > inside**2 for j in ringed):
            return False
        circle = arithmetic.circle(size, self.rules)
        for rings in _partitions(list(range(len(ringed)))):
            widths = [sum(ringed[n].size.width.base + self.rules.piece_gap.base for n in ring) for ring in rings]
            height = sum(max(ringed[n].size.height.base for n in ring) + gap for ring in rings)
            if all(w <= circle for w in widths) and height + fixed <= usable + gap:
                return True
        return False

    def _schedules(self, flasks: Sequence[_Flask]) -> None:
        left, price = self._left(flasks), self._price(flasks)
        kiln = self.p.shop.kilns[0]
        soonest = self._least_late(flasks)
        for loads in _ordered(list(range(len(flasks)))):
            cost = price + kiln.cost * len(loads)
            if (left, soonest, cost) > self.best[:3] or not all(self._load_fits([flasks[n] for n in load]) for load in loads):
                continue
            programs = [self._programs([flasks[n] for n in load]) for load in loads]
            for orders in itertools.product(*(itertools.permutations(load) for load in loads)):
                for minutes in itertools.product(*programs):
                    steps = [self._steps([flasks[n] for n in order]) for order in orders]
                    for stepped in itertools.product(*steps):
                        self._times(flasks, orders, minutes, stepped, left, cost)

    def _load_fits(self, inside: Sequence[_Flask]) -> bool:
        """One row only: the floor is not deep enough for two."""
        kiln = self.p.shop.kilns[0]
        across = [self.p.size[f.size].inner_diameter.base + 2 * self.p.size[f.size].wall.base for f in inside]
        gap = kiln.gap.base
        deep = 2 * gap + max(across)
        return gap + sum(d + gap for d in across) <= kiln.width.base and deep <= kiln.depth.base

    def _least_late(self, flasks: Sequence[_Flask]) -> int:
        """Days late if every flask were cast as soon as it can be in an empty shop."""
        last: dict[str, int] = {}
        for f in flasks:
            ready = (
                max([self.p.now, *(self.p.job[x].ready for x in f.pieces)]) + HOUR + self.p.shop.investments[0].bench_set_minutes
            )
            first = ready + min(self._programs([f]), default=0) + self.rules.soak_minutes
            outs = [out for _, t in self.slots if t >= first and (out := self._knocked_out(f, t))]
            for piece in f.pieces:
                last[piece] = max(last.get(piece, 0), min(outs, default=(len(self.p.days), 0))[0])
        return sum(self.p.job[j].weight * max(0, day - self.due[j]) for j, day in last.items())

    def _programs(self, inside: Sequence[_Flask]) -> list[int]:
        """The shortest that suits: in a kiln that runs alone a longer one only starts earlier."""
        need = max(self.p.size[f.size].burnout_minutes for f in inside)
        need = max([need, *(self.p.job[x].burnout_minutes for f in inside for x in f.pieces)])
        return sorted(p.minutes for p in self.p.shop.programs if p.minutes >= need)[:1]

    def _steps(self, order: Sequence[_Flask]) -> set[tuple[bool, ...]]:
        """Every pattern of steps down that some temperatures give, before each cast of a load."""
        ranges = [
            (
                max(self.p.job[x].temperatures.low.millidegrees for x in f.pieces),
                min(self.p.job[x].temperatures.high.millidegrees for x in f.pieces),
            )
            for f in order
        ]
        ends = sorted({e for r in ranges for e in r})
        choices = [[e for e in ends if low <= e <= high] for low, high in ranges]
        found = set()
        for at in itertools.product(*choices):
            if all(a >= b for a, b in itertools.pairwise(at)):
                found.add((False, *(a > b for a, b in itertools.pairwise(at))))
        return {s for s in found if not any(o != s and all(a <= b for a, b in zip(o, s, strict=True)) for o in found)}

    def _times(self, flasks, orders, minutes, stepped, left: int, cost: int) -> None:  # type: ignore[no-untyped-def]
        sequence = [(k, n, i) for k, order in enumerate(orders) for i, n in enumerate(order)]
        self._cast(flasks, sequence, minutes, stepped, 0, [], (left, cost))

    def _cast(self, flasks, sequence, minutes, stepped, at: int, casts, known) -> None:  # type: ignore[no-untyped-def]
        """One cast after another at every hour; ``casts``: (day, start) so far."""
        self.looked += 1
        if self.looked > self.most:
            raise TooMany
        if at == len(sequence):
            self._finish(flasks, sequence, minutes, casts, known)
            return
        k, _, i = sequence[at]
        for day, start in self.slots:
            if casts and not self._may_follow(flasks, sequence, stepped, at, casts, day, start):
                continue
            if i and start > casts[at - i][1] + self.rules.hot_hold_minutes:
                break
            if not i and not self._loadable(minutes[k], start, casts):
                continue
            now = self._levels(flasks, sequence, [*casts, (day, start)], known)
            if now is not None and now < self.best:
                self._cast(flasks, sequence, minutes, stepped, at + 1, [*casts, (day, start)], known)

    def _loadable(self, length: int, start: int, casts) -> bool:  # type: ignore[no-untyped-def]
        """Whether a load with this first cast could go in at all, after the load before it."""
        at = start - self.rules.soak_minutes - length
        open_at = max((min(at, closes) for opens, closes in self.opens.values() if opens <= at), default=-1)
        first = self.p.now + HOUR + self.p.shop.investments[0].bench_set_minutes
        return open_at >= max(first, casts[-1][1] + self.p.shop.kilns[0].cooldown_minutes if casts else 0)

    def _may_follow(self, flasks, sequence, stepped, at: int, casts, day: int, start: int) -> bool:  # type: ignore[no-untyped-def]
        k, n, i = sequence[at]
        before_day, before = casts[-1]
        changed = self._family(flasks[sequence[at - 1][1]]) != self._family(flasks[n])
        gap = HOUR + (self.rules.crucible_change_minutes if changed and day == before_day else 0)
        if i and stepped[k][i]:
            gap = max(gap, self.rules.step_soak_minutes)
        return start >= before + gap

    def _family(self, f: _Flask) -> str:
        return self.families[f.melt]

    def _knocked_out(self, f: _Flask, start: int) -> tuple[int, int] | None:
        key = (f.melt, start)
        if key not in self.knockouts:
            self.knockouts[key] = self._knock_out(f, start)
        return self.knockouts[key]

    def _knock_out(self, f: _Flask, start: int) -> tuple[int, int] | None:
        wait = self.p.melt[f.melt].alloy.cooling.wait_minutes
        for n, (opens, closes) in self.opens.items():
            at = max(opens, start + HOUR + wait)
            if at + HOUR <= closes + self.rules.overtime_minutes:
                return n, at + HOUR
        return None

    def _levels(self, flasks, sequence, casts, known) -> tuple[int, ...] | None:  # type: ignore[no-untyped-def]
        """What the casts so far are worth; none where a flask is never knocked out."""
        last: dict[str, int] = {}
        overtime = changes = idle = 0
        for at, (day, start) in enumerate(casts):
            f = flasks[sequence[at][1]]
            out = self._knocked_out(f, start)
            if out is None:
                return None
            for piece in f.pieces:
                last[piece] = max(last.get(piece, 0), out[0])
            if at and casts[at - 1][0] == day:
                changed = self._family(flasks[sequence[at - 1][1]]) != self._family(f)
                changes += changed
                idle += start - casts[at - 1][1] - HOUR - (self.rules.crucible_change_minutes if changed else 0)
        for day in {d for d, _ in casts}:
            overtime += max(0, max(t for d, t in casts if d == day) + HOUR - self.shifts[day][1])
        late = sum(self.p.job[j].weight * max(0, day - self.due[j]) for j, day in last.items())
        return known[0], late, known[1], overtime, changes, idle

    def _finish(self, flasks, sequence, minutes, casts, known) -> None:  # type: ignore[no-untyped-def]
        """Kiln, bench, flasks owned and metal for these casts; the best is kept."""
        loaded = self._loads(sequence, minutes, casts)
        if loaded is None or not self._metal(flasks, sequence, casts) or not self._invested(flasks, sequence, casts, loaded):
            return
        levels = self._levels(flasks, sequence, casts, known)
        assert levels is not None
        self.best = min(self.best, levels)

    def _loads(self, sequence, minutes, casts) -> list[int] | None:  # type: ignore[no-untyped-def]
        """When each load goes in, as late as its first cast allows."""
        free, result = self.p.now, []
        for k, length in enumerate(minutes):
            times = [casts[at][1] for at, (load, _, _) in enumerate(sequence) if load == k]
            start = min(times) - self.rules.soak_minutes - length
            open_at = [min(start, closes) for opens, closes in self.opens.values() if opens <= start]
            if not open_at or max(open_at) < free:
                return None
            result.append(max(open_at))
            free = max(times) + self.p.shop.kilns[0].cooldown_minutes
        return result

    def _metal(self, flasks, sequence, casts) -> bool:  # type: ignore[no-untyped-def]
        for melt in self.p.melts:
            until = melt.order_from if melt.order_from is not None else 10**9
            early = [flasks[n] for at, (_, n, _) in enumerate(sequence) if flasks[n].melt == melt.key and casts[at][1] < until]
            if sum(self._charge(f.pieces, f.size) for f in early) > melt.stock_castable.base:
                return False
        return True

    def _invested(self, flasks, sequence, casts, loaded) -> bool:  # type: ignore[no-untyped-def]
        """Some order at the bench, each as late as may be, in which patterns are ready and flasks are there."""
        return any(self._bench(order, flasks, casts, loaded) for order in itertools.permutations(list(enumerate(sequence))))

    def _bench(self, order, flasks, casts, loaded) -> bool:  # type: ignore[no-untyped-def]
        kind = self.p.shop.investments[0]
        limit, uses = 10**9, []
        for at, (k, n, _) in reversed(order):
            end = min(limit, loaded[k] - kind.bench_set_minutes)
            ends = [min(end, closes) for opens, closes in self.opens.values() if opens + HOUR <= end]
            if not ends:
                return False
            start = max(ends) - HOUR
            ready = max([self.p.now, *(self.p.job[x].ready for x in flasks[n].pieces)])
            if start < ready or loaded[k] - start - HOUR > kind.bench_limit_minutes:
                return False
            limit = start
            out = self._knocked_out(flasks[n], casts[at][1])
            assert out is not None
            uses.append((flasks[n].size, start, out[1]))
        return all(sum(s == size and a <= begin < b for s, a, b in uses) <= self.p.size[size].owned for size, begin, _ in uses)


def _subsets(pieces: Sequence[str]) -> list[tuple[str, ...]]:
    return sorted({c for n in range(len(pieces), -1, -1) for c in itertools.combinations(pieces, n)}, key=lambda c: -len(c))


def _partitions(things: list) -> Iterator[list[list]]:  # type: ignore[type-arg]
    if not things:
        yield []
        return
    first, rest = things[0], things[1:]
    for parts in _partitions(rest):
        yield [[first], *parts]
        for n in range(len(parts)):
            yield [*parts[:n], [first, *parts[n]], *parts[n + 1 :]]


def _ordered(things: list[int]) -> Iterator[list[list[int]]]:
    for parts in _partitions(things):
        yield from (list(order) for order in itertools.permutations(parts))
