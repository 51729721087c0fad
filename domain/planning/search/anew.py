"""Taking some flasks out and putting their pieces back in another way, thousands of times over.

This is the careful manager with patience. A worse plan is gone on from now and then, less and less often (S. Kirkpatrick,
C. D. Gelatt and M. P. Vecchi, "Optimization by simulated annealing", Science 220, 1983); what is taken out and put back is
often what is late and what stands before it. Now and then the solver is asked for cheaper flasks for what a few of them hold.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property

from domain.planning.baseline.attempt import time_load
from domain.planning.baseline.drafts import Draft, Obstacle, Ride, draft
from domain.planning.baseline.groups import Groups, pieces_wanted, urgency
from domain.planning.baseline.held import bare, ride_of
from domain.planning.baseline.hours import Hours
from domain.planning.baseline.schedule import Schedule
from domain.planning.baseline.trees import Trees
from domain.planning.manager import as_plan
from domain.planning.measure import measure, values
from domain.planning.plan import KilnLoad, Plan
from domain.planning.solver.price import Filled, cheapest

Worth = tuple[int, ...]
Asked = tuple[str, frozenset[tuple[str, int]], int]
"""A melt, pieces by job, and a price that is to be beaten."""
HOT, COLD = 0.7, 0.02
"""Of the cheapest flask's cost: what a worse plan costs more for which it is gone on from every third time, in the
beginning and in the end."""
OUT = 10**6
"""What a piece left out costs here, beyond all lateness."""
TRIFLE = 0.02
"""What an overtime minute or a crucible change costs here."""
MANY = 8
"""Flasks of a melt or load that are taken out at once."""
FIRST_LATE = 0.45
"""How often something late is taken out, where there is any."""
FEWER_LOADS = 0.1
"""How often no new load may be begun."""
PACKED = 0.4
"""How often the solver is asked in the end, in the beginning not at all."""
FEW = (2, 2, 3, 3, 4)
"""Flasks whose pieces it is asked about."""
PATIENCE = 0.2
"""Seconds that it has for them."""


@dataclass
class Anew:
    """Holds the plan in hand, which may be worse than the best one, and the best one."""

    trees: Trees
    rng: random.Random
    schedule: Schedule
    best: dict[str, Ride] = field(default_factory=dict)
    best_worth: Worth = ()
    worth: Worth = ()
    steps: bool = False
    """the solver's time is counted in its own steps"""
    packed: dict[Asked, tuple[Filled, ...] | None] = field(default_factory=dict)
    """what the solver has answered"""

    @classmethod
    def of(cls, trees: Trees, plan: Plan, seed: int, *, steps: bool = False) -> Anew:
        anew = cls(trees, random.Random(seed), Schedule.of(trees), steps=steps)
        fixed = {load.id for load in trees.problem.fixed_loads}
        for load in plan.loads:
            if load.id not in fixed:
                anew.schedule.put_in(ride_of(trees, plan, load))
        anew.best = dict(anew.schedule.rides)
        anew.worth = anew.best_worth = anew._worth()
        taken = frozenset(f.id for f in plan.flasks) | frozenset(x.id for x in plan.loads)
        anew.schedule.taken_ids |= taken
        return anew

    def step(self, part: float) -> bool:
        """One change; whether the best plan is better for it. ``part``: of the time, how much is over."""
        before = dict(self.schedule.rides)
        self.schedule.patient = self.rng.random() < 0.4
        self.schedule.begins = self.rng.random() >= FEWER_LOADS
        if self.rng.random() >= PACKED * part:
            self._put_back(self._take_out())
        elif not self._pack():
            return False
        worth = self._worth()
        better = worth < self.best_worth
        if better or self._accepted(self._price(worth) - self._price(self.worth), part):
            self.worth = worth
        else:
            self._restore(before)
        if better:
            self.best, self.best_worth = dict(self.schedule.rides), worth
        return better

    def _accepted(self, more: float, part: float) -> bool:
        heat = HOT * (COLD / HOT) ** min(1.0, part) * self._cheapest
        return more <= 0 or self.rng.random() < math.exp(-more / heat)

    def _price(self, worth: Worth) -> float:
        """One sum of the levels, for going on only: what is best is told level by level."""
        return OUT * worth[0] + self._late_day * worth[1] + worth[2] + TRIFLE * (worth[3] + worth[4])

    @cached_property
    def _cheapest(self) -> int:
        return max(1, min((s.cost for s in self.trees.problem.shop.sizes), default=1))

    @cached_property
    def _late_day(self) -> int:
        """A weighted day late: as much as a load with its first flask."""
        shop = self.trees.problem.shop
        return max(1, max((k.cost for k in shop.kilns), default=0) + max((s.cost for s in shop.sizes), default=0))

    def plan(self) -> Plan:
        """The best plan so far, measured."""
        self._restore(self.best)
        self.worth = self.best_worth
        return as_plan(self.schedule)

    def _restore(self, rides: dict[str, Ride]) -> None:
        for load_id, ride in list(self.schedule.rides.items()):
            if rides.get(load_id) is not ride:
                self.schedule.take_out(load_id)
        for load_id, ride in rides.items():
            if load_id not in self.schedule.rides:
                self.schedule.put_in(ride)

    def _worth(self) -> Worth:
        """The levels, from flasks without rings."""
        problem, rides = self.trees.problem, self.schedule.rides.values()
        flasks = tuple(bare(ride, f) for ride in rides for f in ride.flasks)
        loads = tuple(
            KilnLoad(id=r.id, kiln=r.kiln, program=r.program, rows=(), load_at=r.load_at, start=r.start, program_end=r.program_end)
            for r in rides
        )
        plan = Plan(flasks=(*problem.fixed_flasks, *flasks), loads=(*problem.fixed_loads, *loads))
        return values(measure(problem, plan))

    def _take_out(self) -> dict[str, int]:
        """Takes some flasks out; returns the pieces that are now in none."""
        rides = list(self.schedule.rides.values())
        late = self._late(rides) if self.rng.random() < FIRST_LATE else []
        kind = self.rng.random()
        if len(rides) > 1 and not self.schedule.begins:
            self._take_smallest(rides)
        elif late:
            self._take_late(rides, late)
        elif rides and kind < 0.25:
            self._take_loads(rides)
        elif rides and kind < 0.65:
            self._take_melt(rides)
        elif rides:
            self._take_some(rides)
        inside: dict[str, int] = {}
        for ride in self.schedule.rides.values():
            for d in ride.drafts:
                for job, count in d.contents:
                    inside[job] = inside.get(job, 0) + count
        return {j: n - inside.get(j, 0) for j, n in pieces_wanted(self.trees.problem).items() if n > inside.get(j, 0)}

    def _late(self, rides: Sequence[Ride]) -> list[tuple[int, Ride, Draft]]:
        """Flasks with something late, and by how many weighted days."""
        jobs, hours = self.trees.problem.job, self.schedule.table.hours
        found = []
        for ride in rides:
            for timed in ride.flasks:
                day = hours.day_index(timed.knockout_end)
                days = sum(jobs[j].weight * max(0, day - hours.due_index(jobs[j].due)) for j, _ in timed.draft.contents)
                if days:
                    found.append((days, ride, timed.draft))
        return found

    def _take_late(self, rides: Sequence[Ride], late: Sequence[tuple[int, Ride, Draft]]) -> None:
        """Something late, and what is cast before it: a few flasks, those of its melt, or a load."""
        _, its, flask = self.rng.choices(late, [days for days, _, _ in late])[0]
        sooner = [r for r in rides if r.flasks[0].cast_start < its.flasks[0].cast_start]
        before = [d for r in sooner for d in r.drafts]
        kind = self.rng.random()
        if kind >= 0.8 and sooner:
            before = self.rng.choice(sooner).drafts
        elif kind >= 0.5:
            before = [d for d in before if d.melt == flask.melt]
        most = self.rng.choice([1, 2, 3, 4, 6]) if kind < 0.5 else MANY
        gone = {flask.id, *(d.id for d in self.rng.sample(before, min(len(before), most)))}
        for ride in rides:
            self._remove(gone, ride)

    def _take_loads(self, rides: Sequence[Ride]) -> None:
        first = self.rng.choice(rides)
        near = sorted(rides, key=lambda r: (abs(r.start - first.start), r.id))
        for ride in near[: self.rng.choice([1, 1, 2])]:
            self._remove({d.id for d in ride.drafts}, ride)

    def _take_smallest(self, rides: Sequence[Ride]) -> None:
        """One of the smallest loads, and a few flasks of others, to make do with one load fewer."""
        emptied = min(self.rng.sample(rides, 2), key=lambda r: len(r.flasks))
        others = [d.id for r in rides if r is not emptied for d in r.drafts]
        gone = {*(d.id for d in emptied.drafts), *self.rng.sample(others, min(len(others), self.rng.randrange(MANY)))}
        for ride in rides:
            self._remove(gone, ride)

    def _take_melt(self, rides: Sequence[Ride]) -> None:
        melts = sorted({d.melt for r in rides for d in r.drafts})
        chosen = set(self.rng.sample(melts, min(len(melts), self.rng.choice([1, 1, 2]))))
        mine = [d.id for r in rides for d in r.drafts if d.melt in chosen]
        gone = set(self.rng.sample(mine, min(len(mine), MANY)))
        for ride in rides:
            self._remove(gone, ride)

    def _take_some(self, rides: Sequence[Ride]) -> None:
        names = [d.id for r in rides for d in r.drafts]
        gone = set(self.rng.sample(names, min(len(names), self.rng.randrange(1, 7))))
        for ride in rides:
            self._remove(gone, ride)

    def _remove(self, gone: set[str], ride: Ride) -> None:
        """Takes flasks out of a load and times what is left of it again; a part of a job that may not be
        split never stays behind, because all of it is in one flask."""
        left = [d for d in ride.drafts if d.id not in gone]
        if len(left) == len(ride.flasks):
            return
        self.schedule.take_out(ride.id)
        if not left:
            return
        kiln = self.trees.problem.kiln[ride.kiln]
        programs = self.trees.programs_for(kiln, [d.need for d in left])
        day = self.trees.problem.days[self.schedule.table.hours.day_index(ride.flasks[0].cast_start)]
        timed = time_load(self.schedule.table, ride.id, kiln, programs[0], left, day)
        if not isinstance(timed, Obstacle):
            self.schedule.put_in(timed)

    def _pack(self) -> bool:
        """Puts cheaper flasks in the place of a few of one melt that are cast near each other; whether there are any."""
        every = [f for r in self.schedule.rides.values() for f in r.flasks]
        first = self.rng.choice(every) if every else None
        if first is None:
            return False
        mine = [f for f in every if f.draft.melt == first.draft.melt]
        far = {f.draft.id: abs(f.cast_start - first.cast_start) * self.rng.uniform(0.2, 1.0) for f in mine}
        near = [f.draft for f in sorted(mine, key=lambda f: (far[f.draft.id], f.draft.id))[: self.rng.choice(FEW)]]
        filled = self._cheaper(first.draft.melt, near)
        if not filled:
            return False
        gone = {d.id for d in near}
        for ride in list(self.schedule.rides.values()):
            self._remove(gone, ride)
        groups = Groups(self.trees, Hours(self.trees.problem), taken=self._flask_names())
        made = [draft(self.trees, groups.next_id(), first.draft.melt, size, dict(inside)) for size, inside in filled]
        self.schedule.insert_all(self._in_some_order([d for d in made if d]), groups.next_id)
        return True

    def _cheaper(self, melt: str, drafts: Sequence[Draft]) -> tuple[Filled, ...] | None:
        pieces: dict[str, int] = {}
        for d in drafts:
            for j, n in d.contents:
                pieces[j] = pieces.get(j, 0) + n
        price = sum(self.trees.problem.size[d.size].cost for d in drafts)
        asked = (melt, frozenset(pieces.items()), price)
        if asked not in self.packed:
            self.packed[asked] = cheapest(self.trees, melt, pieces, 0, price - 1, PATIENCE, steps=self.steps).flasks
        return self.packed[asked]

    def _put_back(self, pieces: dict[str, int]) -> None:
        groups = Groups(self.trees, Hours(self.trees.problem), quick=False, rng=self.rng, taken=self._flask_names())
        drafts, _ = groups.drafts(pieces)
        self.schedule.insert_all(self._in_some_order(drafts), groups.next_id)

    def _flask_names(self) -> frozenset[str]:
        best = {d.id for r in self.best.values() for d in r.drafts}
        return frozenset(best | {d.id for r in self.schedule.rides.values() for d in r.drafts})

    def _in_some_order(self, drafts: list[Draft]) -> list[Draft]:
        jobs = self.trees.problem.job
        kind = self.rng.random()
        if kind < 0.4:
            return sorted(drafts, key=lambda d: min(urgency(jobs[j]) for j, _ in d.contents))
        if kind < 0.7:
            return sorted(drafts, key=lambda d: (-self.trees.problem.size[d.size].cost, self.rng.random()))
        self.rng.shuffle(drafts)
        return drafts
