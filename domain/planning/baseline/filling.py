"""Day after day, kiln after kiln: a load is filled with what must be cast soonest, then timed as a whole.

In a crowd, first come loads that burn out over night and are cast in time for the kiln to be loaded again in the
evening; then one that may be cast until late, because its kiln is not ready for the next night.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import NamedTuple

from domain.planning.baseline.attempt import time_load
from domain.planning.baseline.blocks import casts_of, in_blocks
from domain.planning.baseline.drafts import Draft, Ride
from domain.planning.baseline.schedule import Schedule
from domain.planning.problem import PlanDay
from domain.shop.burnout import BurnoutProgram, Kiln

ROUNDS = 3
"""How often the room that refused flasks left is offered to others."""
REFUSED = 8
"""Flasks that a load could not be timed with, after which it is left as it is."""


class Way(NamedTuple):
    """How a crowd is filled in. ``full``: percent of a day's casts that can be reached beside crucible changes and soaks.
    ``late_loads``: how many of a day may keep their kiln from the next night. ``fewest``: flasks that are worth a kiln's
    next night. ``noise``: by how many weighted days a flask's need is misjudged at most."""

    full: int = 90
    late_loads: int = 1
    fewest: int = 4
    noise: float = 0.0
    rng: random.Random | None = None


USUAL = Way()


class Kind(NamedTuple):
    """``by_night``: only what can be in the kiln the evening before. ``emptied``: cast in time for the next evening."""

    by_night: bool
    emptied: bool


BY_NIGHT, BY_DAY = Kind(by_night=True, emptied=True), Kind(by_night=False, emptied=True)
UNTIL_LATE, ANY = Kind(by_night=True, emptied=False), Kind(by_night=False, emptied=False)


@dataclass
class Filling:
    """``waiting``: flasks without a place yet. ``patient``: a load that nobody needs today waits until it is full.
    ``crowd``: hours are scarcer than flasks, so kilns and crucibles are used as densely as may be."""

    schedule: Schedule
    waiting: list[Draft]
    patient: bool
    crowd: bool = False
    way: Way = USUAL
    rested: dict[tuple[str, int], int] = field(default_factory=dict)
    """from when a flask may be loaded, by its investment and when its patterns are ready"""

    def run(self, first: int = 0) -> list[Draft]:
        """Fills every day from the first one on; returns the flasks that found no place."""
        for day in self.schedule.table.hours.cast_days[first:]:
            needy = self._by_need(self.schedule.table.hours.day_index(day.midnight))
            left = {d.id for d in (self._crowded(day, needy) if self.crowd else self._day(day, needy, ANY))}
            self.waiting = [d for d in self.waiting if d.id in left]
        return self.waiting

    def _day(self, day: PlanDay, order: list[Draft], *kinds: Kind) -> list[Draft]:
        """Fills a day; returns what finds no place on it."""
        for kiln in self._kilns():
            while order and (ride := self._first_of(kinds, kiln, day, order)):
                order = self._put_in(ride, order)
        return order

    def _crowded(self, day: PlanDay, needy: list[Draft]) -> list[Draft]:
        order = self._day(day, self._in_blocks(day, needy), BY_NIGHT)
        used = {ride.kiln for ride in self.schedule.rides.values() if day.midnight <= ride.flasks[0].cast_start < day.end}
        kinds: tuple[Kind, ...] = (BY_DAY, UNTIL_LATE, ANY)
        late = 0
        for kiln in sorted(self._kilns(), key=lambda k: k.id in used):
            while order and (ride := self._first_of(kinds, kiln, day, order)):
                order = self._put_in(ride, order)
                late += into_the_night(ride, kiln, day)
                kinds = kinds if late < self.way.late_loads else (BY_DAY,)
        return order

    def _in_blocks(self, day: PlanDay, needy: list[Draft]) -> list[Draft]:
        return in_blocks(needy, casts_of(self.schedule, day) * self.way.full // 100, partial(self._may_be_cast, day))

    def _first_of(self, kinds: Iterable[Kind], kiln: Kiln, day: PlanDay, order: Sequence[Draft]) -> Ride | None:
        return next((ride for kind in kinds if (ride := self._load(kiln, day, order, kind))), None)

    def _put_in(self, ride: Ride, order: Sequence[Draft]) -> list[Draft]:
        self.schedule.put_in(ride)
        gone = {f.draft.id for f in ride.flasks}
        return [d for d in order if d.id not in gone]

    def _kilns(self) -> list[Kiln]:
        kilns = [k for k in self.schedule.problem.shop.kilns if k.in_service]
        return sorted(kilns, key=lambda k: (k.cost / max(1, k.width.base * k.depth.base), k.id))

    def _late_after(self, flask: Draft, day: int) -> int:
        """What one day more costs a flask that is not knocked out on this day."""
        jobs, hours = self.schedule.problem.job, self.schedule.table.hours
        return sum([jobs[j].weight for j, _ in flask.contents if hours.due_index(jobs[j].due) <= day])

    def _by_need(self, day: int) -> list[Draft]:
        jobs = self.schedule.problem.job
        due = {d.id: min(jobs[j].due for j, _ in d.contents) for d in self.waiting}
        need = {d.id: self._late_after(d, day) + self._misjudged() for d in self.waiting}
        return sorted(self.waiting, key=lambda d: (-need[d.id], due[d.id], d.family, d.id))

    def _misjudged(self) -> float:
        return self.way.rng.uniform(-self.way.noise, self.way.noise) if self.way.rng and self.way.noise else 0.0

    def _load(self, kiln: Kiln, day: PlanDay, order: Sequence[Draft], kind: Kind) -> Ride | None:
        """A load with as many flasks as floor, bench, machines and people have room for, the neediest first."""
        growing = _Growing(self.schedule, kiln, day, kind)
        full = False
        for _ in range(ROUNDS):
            more, full = self._chosen(growing, order)
            if not more:
                break
            growing.add(more)
        today = self.schedule.table.hours.day_index(day.midnight)
        if self.patient and not full and not any(self._late_after(d, today) for d in growing.inside):
            return None
        ride = growing.ride
        few = ride is not None and self.crowd and len(ride.flasks) < self.way.fewest and into_the_night(ride, kiln, day)
        return None if few else ride

    def _chosen(self, growing: _Growing, order: Iterable[Draft]) -> tuple[list[Draft], bool]:
        """The next flasks that stand beside those inside, bear a program with them, and are ready in time; and
        whether the floor was full before all were in."""
        trees, kiln, inside, full = self.schedule.trees, growing.kiln, list(growing.inside), False
        free = self._free(kiln, growing.day)
        counts = Counter(d.size for d in inside)
        seen = {d.id for d in inside} | growing.refused
        needs = frozenset(d.need for d in inside)
        rested = max([self._rested(d) for d in inside], default=0)
        too_large: set[str] = set()  # sizes of which no more stand beside those inside
        for flask in order:
            if flask.id in seen or flask.size in too_large:
                continue
            if trees.stand({**counts, flask.size: counts[flask.size] + 1}, kiln) is None:
                too_large.add(flask.size)
                full = True
                continue
            programs = trees.programs_for(kiln, needs | {flask.need})
            at = max(rested, self._rested(flask))
            if (
                programs
                and self._ready(max(at, free), programs[0], growing.day, growing.kind)
                and self._metal(flask, inside, growing.day)
            ):
                inside.append(flask)
                counts[flask.size] += 1
                needs, rested = needs | {flask.need}, at
                too_large.clear()
        return inside[len(growing.inside) :], full

    def _free(self, kiln: Kiln, day: PlanDay) -> int:
        """From when the kiln may be loaded for this day."""
        table = self.schedule.table
        taken = [end for start, end in table.kilns[kiln.id] if start < day.end]
        free = table.hours.next_open(max(taken, default=self.schedule.problem.now))
        return self.schedule.problem.end if free is None else free

    def _ready(self, rested: int, program: BurnoutProgram, day: PlanDay, kind: Kind) -> bool:
        """Whether what may be loaded from then on is loaded in time for the day's last cast, or its first."""
        hours, problem = self.schedule.table.hours, self.schedule.problem
        shifts = hours.shifts_of(day)
        casts = min(s.opens for s in shifts) if kind.by_night else max(s.closes for s in shifts) + self.schedule.table.late
        load_at = hours.latest_open(casts - problem.rules.soak_minutes - program.minutes)
        return load_at is not None and rested <= load_at

    def _may_be_cast(self, day: PlanDay, flask: Draft) -> bool:
        """Whether the flask could be cast on this day if it had the shop to itself."""
        trees, rested = self.schedule.trees, self._rested(flask)
        programs = [p for k in trees.kilns_for(flask.size) for p in trees.programs_for(k, [flask.need])[:1]]
        return any(self._ready(rested, p, day, BY_DAY) for p in programs) and self._metal(flask, (), day)

    def _rested(self, flask: Draft) -> int:
        """From when the flask may be loaded, had it the bench to itself."""
        if (flask.investment, flask.ready) not in self.rested:
            problem = self.schedule.problem
            bench = problem.investment[flask.investment].bench_set_minutes + problem.rules.invest_minutes
            begins = self.schedule.table.hours.next_open(flask.ready)
            self.rested[flask.investment, flask.ready] = problem.end if begins is None else begins + bench
        return self.rested[flask.investment, flask.ready]

    def _metal(self, flask: Draft, inside: Iterable[Draft], day: PlanDay) -> bool:
        """Whether there is metal for it on this day, beside what the others inside take."""
        table, melt = self.schedule.table, self.schedule.problem.melt[flask.melt]
        if melt.order_from is not None and melt.order_from < day.end:
            return True
        taken = table.charged[flask.melt] + sum([d.charge for d in inside if d.melt == flask.melt])
        return taken + flask.charge <= melt.stock_castable.base


@dataclass
class _Growing:
    """A load in the making. ``refused``: flasks with which it could not be timed."""

    schedule: Schedule
    kiln: Kiln
    day: PlanDay
    kind: Kind
    inside: list[Draft] = field(default_factory=list)
    ride: Ride | None = None
    refused: set[str] = field(default_factory=set)

    def add(self, more: Sequence[Draft]) -> None:
        """All of them, or else as many of each half as go."""
        if len(self.refused) >= REFUSED:
            return
        ride = self._timed([*self.inside, *more])
        if ride is not None:
            self.inside, self.ride = [*self.inside, *more], ride
        elif len(more) == 1:
            self.refused.add(more[0].id)
        else:
            self.add(more[: len(more) // 2])
            self.add(more[len(more) // 2 :])

    def _timed(self, drafts: Sequence[Draft]) -> Ride | None:
        programs = self.schedule.trees.programs_for(self.kiln, dict.fromkeys(d.need for d in drafts))
        if not programs:
            return None
        ride = time_load(self.schedule.table, self.schedule.load_id(), self.kiln, programs[0], drafts, self.day)
        if not isinstance(ride, Ride) or (self.kind.emptied and into_the_night(ride, self.kiln, self.day)):
            return None
        return ride


def into_the_night(ride: Ride, kiln: Kiln, day: PlanDay) -> bool:
    """Whether the kiln cannot be loaded again on the day on which the load is cast."""
    last = max(f.cast_start for f in ride.flasks)
    return day.closes is not None and last + kiln.cooldown_minutes > day.closes
