"""A plan held in a timetable, to be changed as little as may be: one job after another is tried elsewhere."""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from typing import TypeVar

from domain.mould.ring import Ring
from domain.planning.baseline.drafts import Draft, Ride, Timed, draft_of
from domain.planning.baseline.groups import Groups, may_add, pieces_of, pieces_wanted, urgency
from domain.planning.baseline.hours import Hours
from domain.planning.baseline.keeping import Beside
from domain.planning.baseline.trees import Trees
from domain.planning.measure import days_late, measure, planned_pieces, values
from domain.planning.plan import KilnLoad, Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.units import Length, Mass, Temperature

Worth = tuple[int, ...]
Kind = TypeVar("Kind", bound="Held")


@dataclass
class Held:
    """A timetable that holds the plan in hand. ``problem`` is what was asked; ``trees`` belong to the same
    problem with the flasks fixed that stand in a fixed load."""

    problem: Problem
    trees: Trees
    schedule: Beside

    @classmethod
    def holding_plan(cls: type[Kind], trees: Trees, plan: Plan) -> Kind:
        """A valid plan in a timetable, to be changed as little as may be."""
        problem = trees.problem
        fixed = {load.id for load in problem.fixed_loads}
        standing = {f.id for f in problem.fixed_flasks}
        riders = tuple(f for f in plan.flasks if f.load in fixed and f.id not in standing)
        inner = trees.beside(replace(problem, fixed_flasks=(*problem.fixed_flasks, *riders)))
        steady = cls(problem, inner, Beside.of(inner))
        for load in plan.loads:
            if load.id not in fixed:
                steady.schedule.put_in(ride_of(inner, plan, load))
        steady.schedule.taken_ids |= {x.id for x in plan.loads}
        return steady

    def groups(self) -> Groups:
        """Fills flasks under names that none of these has."""
        now = frozenset(d.id for r in self.schedule.rides.values() for d in r.drafts)
        return Groups(self.trees, Hours(self.trees.problem), taken=now)

    def missing(self) -> dict[str, int]:
        """Pieces of each job that are to be planned and are in no flask."""
        inside = pieces_of(d for r in self.schedule.rides.values() for d in r.drafts)
        wanted = {j: n - inside.get(j, 0) for j, n in pieces_wanted(self.trees.problem).items()}
        return {j: n for j, n in wanted.items() if n > 0 and may_add(self.problem, j, inside)}

    def insert(self, pieces: dict[str, int], rng: random.Random | None = None) -> None:
        """Fills flasks with the pieces and puts them in, the most urgent first."""
        groups = self.groups()
        groups.rng, groups.quick = rng, rng is None
        drafts, _ = groups.drafts(pieces)
        jobs = self.problem.job
        order = sorted(drafts, key=lambda d: (*min(urgency(jobs[j]) for j, _ in d.contents), d.id))
        self.schedule.insert_all(order, groups.next_id)

    def worth(self) -> Worth:
        """Left out, days late, changed flasks, then the other levels."""
        found = values(measure(self.problem, self.bare()))
        return (*found[:2], found[6], *found[2:6])

    def bare(self) -> Plan:
        """The plan without rings and kiln rows, enough to be measured."""
        fixed, rides = self.trees.problem, self.schedule.rides.values()
        flasks = tuple(bare(ride, f) for ride in rides for f in ride.flasks)
        loads = tuple(
            KilnLoad(id=r.id, kiln=r.kiln, program=r.program, rows=(), load_at=r.load_at, start=r.start, program_end=r.program_end)
            for r in rides
        )
        return Plan(flasks=(*fixed.fixed_flasks, *flasks), loads=(*fixed.fixed_loads, *loads))

    def troubled(self) -> list[str]:
        """Jobs late or left out, the worst first."""
        bare = self.bare()
        late, inside = days_late(self.problem, bare), planned_pieces(bare)
        out = {j.id: j.quantity - inside.get(j.id, 0) for j in self.problem.jobs if j.quantity > inside.get(j.id, 0)}
        jobs = self.problem.job
        key = {j: (-out.get(j, 0) * jobs[j].weight, -late.get(j, 0) * jobs[j].weight, j) for j in {*out, *late}}
        return sorted(key, key=lambda j: key[j])

    def mend(self, job: str) -> bool:
        """One job taken out and put in again, if that leaves less out or makes less late."""
        before, old = dict(self.schedule.rides), self.worth()
        self.take_job(job)
        self.insert({j: n for j, n in self.missing().items() if j == job})
        if self.worth()[:2] < old[:2]:
            return True
        self.restore(before)
        return False

    def take_job(self, job: str) -> None:
        """Takes out the job's pieces out of their flasks; what is in these beside them stays."""
        for ride in list(self.schedule.rides.values()):
            if any(job in d.pieces for d in ride.drafts):
                self.replace_flasks(ride, [f for t in ride.flasks if (f := self._without(ride, t, job))])

    def _without(self, ride: Ride, timed: Timed, job: str) -> Timed | None:
        old = timed.draft
        if job not in old.pieces:
            return timed
        rest = {j: n for j, n in old.pieces.items() if j != job}
        return self.schedule.refilled(ride, timed, rest) if rest else None

    def replace_flasks(self, ride: Ride, flasks: list[Timed]) -> None:
        """A load with these flasks only; without any it is gone."""
        self.schedule.take_out(ride.id)
        if flasks:
            self.schedule.put_in(ride._replace(flasks=tuple(flasks)))

    def restore(self, rides: dict[str, Ride]) -> None:
        """Everything as it was when the rides were these."""
        schedule = self.schedule
        for load_id, ride in list(schedule.rides.items()):
            if rides.get(load_id) is not ride:
                schedule.take_out(load_id)
        for load_id, ride in rides.items():
            if load_id not in schedule.rides:
                schedule.put_in(ride)
        schedule.rides = {load_id: schedule.rides[load_id] for load_id in rides}


def ride_of(trees: Trees, plan: Plan, load: KilnLoad) -> Ride:
    """A load of a plan that passed the checker, ready for a timetable."""
    drafts = {f.id: draft_of(trees, f) for f in plan.flasks if f.load == load.id}
    flasks = {f.id: f for f in plan.flasks if f.load == load.id}
    timed = tuple(timed_of(flasks[name], made) for name, made in drafts.items() if made is not None)
    return Ride(load.id, load.kiln, load.program, load.load_at, load.start, load.program_end, timed)


def timed_of(f: PlannedFlask, d: Draft) -> Timed:
    """The flask at its times, at its temperature where its pieces bear that."""
    at = f.temperature.millidegrees
    times = (f.invest_start, f.cast_start, f.cast_end, f.knockout_start, f.knockout_end)
    return Timed(d, at if d.low <= at <= d.high else d.low, f.machine, f.people, *times)


def bare(ride: Ride, f: Timed) -> PlannedFlask:
    """The flask without its rings."""
    d: Draft = f.draft
    return PlannedFlask(
        id=d.id,
        melt=d.melt,
        size=d.size,
        investment=d.investment,
        rings=(Ring(pieces=d.contents, height=Length(0)),),
        temperature=Temperature(f.temperature),
        charge=Mass(d.charge),
        invest_start=f.invest_start,
        invest_end=f.invest_start,
        load=ride.id,
        machine=f.machine,
        people=f.people,
        cast_start=f.cast_start,
        cast_end=f.cast_end,
        knockout_start=f.knockout_start,
        knockout_end=f.knockout_end,
    )
