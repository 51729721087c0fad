"""Flasks put into loads and days, one after another, each where it hurts least."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import ClassVar, NamedTuple, TypeAlias

from domain.planning.baseline.attempt import time_load
from domain.planning.baseline.beside import squeezed_in
from domain.planning.baseline.drafts import Draft, Obstacle, Ride, as_flask, as_load, draft
from domain.planning.baseline.times import Timetable
from domain.planning.baseline.trees import Trees
from domain.planning.plan import KilnLoad, PlannedFlask
from domain.planning.problem import PlanDay, Problem
from domain.shop.burnout import Kiln

Score: TypeAlias = tuple[int, ...]
"""Weighted days late first, the casting day (or its opposite for who would rather wait) last; between
them what it costs."""


MANY = 120
"""Flasks, above which nobody times all loads anew for every one more."""


class Placing(NamedTuple):
    """One way to put a flask in: ``before`` is the load it joins, as it was."""

    score: Score
    ride: Ride
    before: Ride | None


@dataclass
class Schedule:
    """A plan in the making. ``patient``: a new load is put on the last day that is still in time, so
    that more may join it, not on the first."""

    trees: Trees
    table: Timetable
    patient: bool = False
    begins: bool = True
    """whether new loads are"""
    rides: dict[str, Ride] = field(default_factory=dict)
    made: int = 0
    obstacles: dict[str, Obstacle] = field(default_factory=dict)
    """the last rule in the way of each job that found no place"""
    taken_ids: frozenset[str] = frozenset()
    harm: ClassVar[int] = 1
    """how many of a score's first numbers are better 0"""

    @classmethod
    def of(cls, trees: Trees, *, patient: bool = False) -> Schedule:
        problem = trees.problem
        taken = {load.id for load in problem.fixed_loads}
        if problem.previous:
            taken |= {load.id for load in problem.previous.loads}
        return cls(trees, Timetable.of(problem), patient, taken_ids=frozenset(taken))

    @property
    def problem(self) -> Problem:
        return self.trees.problem

    def insert(self, flask: Draft) -> bool:
        """Puts the flask in its best place, in another size where its own finds none in time."""
        best = self._best(flask)
        if best is None or any(n > 0 for n in best.score[: self.harm]):
            for other in self._other_sizes(flask):
                placing = self._best(other)
                if placing and (best is None or placing.score < best.score):
                    best = placing
        if best is None:
            return False
        if best.before is not None:
            self.take_out(best.before.id)
        self.put_in(best.ride)
        return True

    def put_in(self, ride: Ride) -> None:
        self.table.add(ride)
        self.rides[ride.id] = ride

    def take_out(self, load_id: str) -> Ride:
        ride = self.rides.pop(load_id)
        self.table.remove(ride)
        return ride

    def insert_all(self, drafts: Iterable[Draft], rename: Callable[[], str]) -> dict[str, int]:
        """Puts every flask in; one that finds no place is taken apart by job and tried again. Returns
        the pieces without a place."""
        left: dict[str, int] = {}
        for flask in drafts:
            for part in [flask] if self.insert(flask) else self._parts(flask, rename):
                if part is flask or self.insert(part):
                    continue
                for job, count in part.contents:
                    left[job] = left.get(job, 0) + count
        return left

    def _parts(self, flask: Draft, rename: Callable[[], str]) -> list[Draft]:
        parts = [draft(self.trees, rename(), flask.melt, flask.size, {job: n}) for job, n in flask.contents]
        return [p for p in parts if p is not None]

    def _other_sizes(self, flask: Draft) -> list[Draft]:
        sizes = [s.id for s in self.trees.usable_sizes(flask.melt) if s.id != flask.size]
        fitting = [s for s in sizes if self.trees.fits(flask.melt, s, flask.pieces)]
        others = [draft(self.trees, flask.id, flask.melt, s, flask.pieces) for s in fitting]
        return [o for o in others if o is not None]

    def _best(self, flask: Draft) -> Placing | None:
        """The best load to join with nothing later for it, else the best of all ways."""
        if sum(len(ride.flasks) for ride in self.rides.values()) > MANY:
            return self._first(flask)
        found: Placing | None = None
        for ride in sorted(self.rides.values(), key=self._day):
            if found is None or self._late_on(flask, self._day_of(ride)) < found.score[0]:
                joined = self._join(flask, ride)
                if joined is not None and (found is None or joined.score < found.score):
                    found = joined
                    if found.score[0] <= 0:
                        return found
        return min([*([found] if found else []), *self._new_loads(flask)], key=lambda p: p.score, default=None)

    def _day_of(self, ride: Ride) -> int:
        return self.table.hours.day_index(ride.flasks[0].cast_start)

    def _first(self, flask: Draft) -> Placing | None:
        """Of many loads: the first gap among their casts on a day that is as good as any, else a load of its own,
        else the first load that can be timed anew for it."""
        rides = sorted(self.rides.values(), key=self._day)
        best: Placing | None = None
        for ride in rides:
            if self._worth_asking(flask, ride, best) and (placing := self.gap(flask, ride)):
                best = min(best or placing, placing, key=lambda p: p.score)
        if best is None or best.score[0] > self._soonest(flask):
            best = min([*([best] if best else []), *self._new_loads(flask)], key=lambda p: p.score, default=None)
        if best is None:
            found = (self._join(flask, ride) for ride in rides if self._worth_asking(flask, ride, None))
            best = next((p for p in found if p), None)
        return best

    def _worth_asking(self, flask: Draft, ride: Ride, best: Placing | None) -> bool:
        """Whether there is room, and on the load's day the flask would be less late than it is already."""
        if best is not None:
            day = self.table.hours.day_index(ride.flasks[0].cast_start)
            if best.score[0] <= self._late_on(flask, day):
                return False
        kiln = self.problem.kiln[ride.kiln]
        return flask.ready + self.problem.rules.invest_minutes <= ride.load_at and self._room(flask, ride, kiln)

    def gap(self, flask: Draft, ride: Ride) -> Placing | None:
        """In a gap among the load's casts or behind them, everything else as it is."""
        joined = squeezed_in(self.table, ride, flask)
        if joined is None:
            return None
        return Placing((self.late(joined) - self.late(ride), self._cost(flask), self._day(joined)), joined, ride)

    def _soonest(self, flask: Draft) -> int:
        """How late the flask is at least: knocked out on the day after the one on which it may be invested."""
        return self._late_on(flask, self.table.hours.day_index(flask.ready) + 1)

    def _late_on(self, flask: Draft, day: int) -> int:
        jobs, hours = self.problem.job, self.table.hours
        return sum([jobs[j].weight * max(0, day - hours.due_index(jobs[j].due)) for j, _ in flask.contents])

    def _join(self, flask: Draft, ride: Ride) -> Placing | None:
        kiln = self.problem.kiln[ride.kiln]
        if flask.ready + self.problem.rules.invest_minutes > ride.program_end or not self._room(flask, ride, kiln):
            return None
        drafts = [*ride.drafts, flask]
        programs = self.trees.programs_for(kiln, [d.need for d in drafts])
        if not programs:
            return None
        day = self.problem.days[self.table.hours.day_index(ride.flasks[0].cast_start)]
        self.table.remove(ride)
        timed = time_load(self.table, ride.id, kiln, programs[0], drafts, day)
        self.table.add(ride)
        if isinstance(timed, Obstacle):
            self._note(flask, timed)
            return None
        return Placing((self.late(timed) - self.late(ride), self._cost(flask), self._day(timed)), timed, ride)

    def _room(self, flask: Draft, ride: Ride, kiln: Kiln) -> bool:
        counts = {flask.size: 1}
        for other in ride.drafts:
            counts[other.size] = counts.get(other.size, 0) + 1
        return self.trees.stand(counts, kiln) is not None

    def _new_loads(self, flask: Draft) -> list[Placing]:
        placings: list[Placing] = []
        for kiln in self.trees.kilns_for(flask.size) if self.begins else ():
            programs = self.trees.programs_for(kiln, [flask.need])
            if programs:
                placings += self._on_days(flask, kiln, programs[0].id)
        return placings

    def _on_days(self, flask: Draft, kiln: Kiln, program: str) -> list[Placing]:
        """A load of its own on the first day that works; for the patient, on all that are as good."""
        found: list[Placing] = []
        for day in self.table.hours.cast_days:
            placing = self._alone(flask, kiln, program, day)
            if placing is None:
                continue
            if found and placing.score[0] > found[0].score[0]:
                break
            found.append(placing)
            if not self.patient:
                break
        return found

    def _alone(self, flask: Draft, kiln: Kiln, program: str, day: PlanDay) -> Placing | None:
        if day.end <= flask.ready:
            return None
        timed = time_load(self.table, self.load_id(), kiln, self.problem.program[program], [flask], day)
        if isinstance(timed, Obstacle):
            self._note(flask, timed)
            return None
        return Placing((self.late(timed), self._cost(flask) + kiln.cost, self._day(timed)), timed, None)

    def _note(self, flask: Draft, obstacle: Obstacle) -> None:
        for job, _ in flask.contents:
            self.obstacles[job] = obstacle

    def _cost(self, flask: Draft) -> int:
        return self.problem.size[flask.size].cost

    def _day(self, ride: Ride) -> int:
        at = ride.flasks[0].cast_start
        return -at if self.patient else at

    def late(self, ride: Ride) -> int:
        """Weighted days late of the load's jobs, flask by flask."""
        total = 0
        for f in ride.flasks:
            day = self.table.hours.day_index(f.knockout_end)
            for job_id, _ in f.draft.contents:
                job = self.problem.job[job_id]
                total += job.weight * max(0, day - self.table.hours.due_index(job.due))
        return total

    def load_id(self) -> str:
        while f"L{self.made + 1}" in self.taken_ids or f"L{self.made + 1}" in self.rides:
            self.made += 1
        return f"L{self.made + 1}"

    def flasks(self) -> tuple[PlannedFlask, ...]:
        return tuple(as_flask(self.trees, ride, f) for ride in self.rides.values() for f in ride.flasks)

    def loads(self) -> tuple[KilnLoad, ...]:
        return tuple(as_load(self.trees, ride) for ride in self.rides.values())
