"""People have read the plan: what still holds stays as it is, and only less left out or less lateness is worth a move."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace

from domain.planning.baseline.drafts import Ride, Timed
from domain.planning.baseline.held import Held
from domain.planning.baseline.keeping import Beside
from domain.planning.baseline.trees import Trees
from domain.planning.check import check
from domain.planning.manager import as_plan
from domain.planning.measure import measure, planned_pieces
from domain.planning.plan import KilnLoad, LeftOut, Plan, PlannedFlask
from domain.planning.polish import polish
from domain.planning.problem import Problem
from domain.planning.search.repair import holding

Worth = tuple[int, ...]

PASS = 60
"""Late or left-out jobs that are tried once more, the worst first."""


@dataclass
class Steady(Held):
    """The plan in hand, on its way to a better one."""

    broken: bool = False
    """whether something of the previous plan does not hold any more, or is new"""

    @classmethod
    def mended(cls, trees: Trees) -> Steady:
        """The previous plan with everything that still holds, and what is missing put beside it."""
        problem = trees.problem
        assert problem.previous is not None  # who asks has a plan
        riders = riding_along(trees, problem.previous)
        inner = trees.beside(replace(problem, fixed_flasks=(*problem.fixed_flasks, *riders)))
        kept, loose = holding(inner, problem.previous)
        steady = cls(problem, inner, Beside.of(inner))
        for ride in kept:
            steady.schedule.put_in(ride)
        steady.broken = steady._is_new(problem.previous) or bool(loose)
        groups = steady.groups()
        steady.schedule.insert_all(loose, groups.next_id)
        steady.insert(steady.missing())
        return steady

    def _is_new(self, previous: Plan) -> bool:
        """Whether pieces are to be planned that the previous plan neither held nor left out."""
        known = Counter({e.job: e.pieces for e in previous.left_out})
        return any(n > known[j] for j, n in self.missing().items())

    def mend_each(self, going_on: Callable[[], bool] = lambda: True) -> bool:
        """Every job late or left out is tried once more beside everything else, until none is better for
        it. A plan that has been through all of this comes out of it unchanged: nothing moves twice.
        ``going_on``: asked before each job."""
        better = False
        going = True
        while going:
            going = sum(going_on() and self.mend(job) for job in self.troubled()[:PASS]) > 0
            better = better or going
        return better

    def search(self, rng: random.Random, going: Callable[[], bool], better: Callable[[Plan], None]) -> None:
        """Makes room for what is late or left out by moving a few other flasks, as long as that helps."""
        best = self.worth()
        while going() and (jobs := self.troubled()):
            before = dict(self.schedule.rides)
            self._make_room(rng, jobs[min(int(rng.expovariate(0.4)), len(jobs) - 1)])
            worth = self.worth()
            if worth >= best:
                self.restore(before)
                continue
            told = worth[:2] < best[:2]
            best = worth
            if told:
                better(self.plan())

    def _make_room(self, rng: random.Random, job: str) -> None:
        """The job and a few flasks out; the job in first, the others back where they were or elsewhere."""
        self.take_job(job)
        taken = self._take_some(rng, job)
        self.insert({j: n for j, n in self.missing().items() if j == job}, rng if rng.random() < 0.5 else None)
        groups = self.groups()
        for ride, timed in taken:
            if not self.schedule.put_back(ride.id, ride, timed):
                self.schedule.insert_all([timed.draft], groups.next_id)
        self.insert(self.missing())

    def _take_some(self, rng: random.Random, job: str) -> list[tuple[Ride, Timed]]:
        """A few flasks cast by the day the job is due, sometimes a whole load."""
        hours = self.schedule.table.hours
        due = hours.due_index(self.problem.job[job].due)
        early = [r for r in self.schedule.rides.values() if hours.day_index(r.flasks[0].cast_start) <= max(due, 1)]
        if not early:
            return []
        if rng.random() < 0.3:
            ride = rng.choice(early)
            chosen = [(ride, f) for f in ride.flasks]
        else:
            every = [(r, f) for r in early for f in r.flasks]
            chosen = rng.sample(every, min(len(every), rng.choice([1, 1, 2, 3])))
        gone = {f.draft.id for _, f in chosen}
        for ride in early:
            left = [f for f in ride.flasks if f.draft.id not in gone]
            if len(left) < len(ride.flasks):
                self.replace_flasks(ride, left)
        return chosen

    def plan(self) -> Plan:
        """The plan in hand, measured; what is as it was read is exactly as it was read."""
        plan = as_plan(self.schedule)
        previous = self.problem.previous
        if previous is not None:
            plan = as_read(polish(_kept_still(self.trees.problem, plan, previous), plan), previous)
        return replace(plan, levels=measure(self.problem, plan))


def _kept_still(problem: Problem, plan: Plan, previous: Plan) -> Problem:
    """The problem with every flask fixed whose time and temperature people have read."""
    known = {(f.id, f.cast_start, f.temperature) for f in previous.flasks}
    still = tuple(f for f in plan.flasks if (f.id, f.cast_start, f.temperature) in known)
    return replace(problem, fixed_flasks=(*problem.fixed_flasks, *still))


def as_read(plan: Plan, previous: Plan) -> Plan:
    """Rings and kiln rows may be drawn in several ways: those that people have read are taken."""
    flasks = {f.id: f for f in previous.flasks}
    same = tuple(
        old if (old := flasks.get(f.id)) and replace(f, rings=old.rings) == old and _same(f, old) else f for f in plan.flasks
    )
    loads = {x.id: x for x in previous.loads}
    sizes = {f.id: f.size for f in plan.flasks}
    read = {f.id: f.size for f in previous.flasks}
    rows = tuple(
        was if (was := loads.get(x.id)) and replace(x, rows=was.rows) == was and _standing(was, read) == _standing(x, sizes) else x
        for x in plan.loads
    )
    return replace(plan, flasks=same, loads=rows)


def _same(flask: PlannedFlask, old: PlannedFlask) -> bool:
    return flask.contents == old.contents


def _standing(load: KilnLoad, sizes: dict[str, str]) -> set[tuple[str, str | None]]:
    return {(f, sizes.get(f)) for f in load.flasks}


def riding_along(trees: Trees, previous: Plan) -> tuple[PlannedFlask, ...]:
    """Flasks that are not fixed but stand in a fixed load, and break no rule."""
    problem = trees.problem
    fixed = {f.id for f in problem.fixed_flasks}
    standing = {x.id: x.flasks for x in problem.fixed_loads}
    riders = [f for f in previous.flasks if f.id not in fixed and f.id in standing.get(f.load, ()) and _as_asked(problem, f)]
    for _ in range(len(riders)):
        plan = Plan(flasks=(*problem.fixed_flasks, *riders), loads=problem.fixed_loads)
        wrong = {v.where for v in check(problem, replace(plan, left_out=_rest(problem, plan)), metal=False)}
        named = [f for f in riders if f"flask {f.id}" in wrong] or _last_without_metal(riders, wrong)
        if not named:
            break
        riders = [f for f in riders if f not in named]
    return tuple(riders)


def _last_without_metal(riders: list[PlannedFlask], wrong: set[str]) -> list[PlannedFlask]:
    """Of a melt of which too much is charged before metal comes, the flask that is cast last."""
    short = [f for f in riders if f"metal {f.melt}" in wrong]
    return [max(short, key=lambda f: (f.cast_start, f.id))] if short else []


def _as_asked(problem: Problem, flask: PlannedFlask) -> bool:
    return all(j in problem.job and problem.job[j].melt == flask.melt for j in flask.contents) and flask.invest_start >= problem.now


def _rest(problem: Problem, plan: Plan) -> tuple[LeftOut, ...]:
    inside = planned_pieces(plan)
    return tuple(
        LeftOut(job=j.id, pieces=j.quantity - inside[j.id], rule=8, reason="not placed yet", remedy="place it")
        for j in problem.jobs
        if j.quantity > inside[j.id]
    )
