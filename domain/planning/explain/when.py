"""What kept a job from an earlier day: every day is tried beside what is planned."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from domain.planning.baseline.attempt import time_load
from domain.planning.baseline.drafts import Draft, Obstacle
from domain.planning.baseline.schedule import Schedule
from domain.planning.baseline.trees import Trees
from domain.planning.explain.never import Reason, drafts_of, together
from domain.planning.explain.words import day_words
from domain.planning.plan import Plan
from domain.planning.problem import PlanDay, PlanJob, Problem
from domain.saying import say

REMEDIES = {
    5: say("Buy another flask of the size, or knock out sooner."),
    6: say("Get the patterns sooner, or invest with more time before the kiln."),
    7: say("Run another kiln load, use another kiln, or put less urgent flasks off."),
    8: say("Add a shift or overtime, use another machine, or put less urgent flasks off."),
    9: say("Order the metal now, or have it delivered sooner."),
}


@dataclass(frozen=True)
class Probe:
    """Asks where one more flask of a job could go beside a plan."""

    problem: Problem
    plan: Plan

    @cached_property
    def trees(self) -> Trees:
        return Trees(self.problem)

    @cached_property
    def _beside(self) -> Schedule:
        frozen = replace(self.problem, fixed_flasks=self.plan.flasks, fixed_loads=self.plan.loads)
        return Schedule.of(Trees(frozen))

    @cached_property
    def _alone(self) -> Schedule:
        return Schedule.of(self.trees)

    def why_full(self, job: PlanJob, pieces: int) -> Reason:
        """Why pieces of a job that can be cast found no place."""
        count = pieces if not job.may_split else min(pieces, together(job))
        return self._what_was_taken(job, count, self.problem.days, say("in the days planned"))

    def why_late(self, job: PlanJob) -> tuple[Reason, ...]:
        """What is decisive first: what would be late in an empty shop too, else what was taken."""
        days = tuple(d for d in self.problem.days if d.date <= job.due)
        if not days:
            return (self._due_already(job),)
        alone = self._first_obstacles(self._alone, job, together(job), days)
        if alone and not any(o is None for o in alone):
            return (self._in_words(job, [o for o in alone if o], say("even in an empty shop"), job.due),)
        return (self._what_was_taken(job, together(job), days, say("up to {due}", due=day_words(job.due))),)

    def _due_already(self, job: PlanJob) -> Reason:
        return Reason(
            rule=6,
            reason=say("Job {job} was due on {due}, before the first day planned", job=job.name, due=day_words(job.due)),
            remedy=say("Agree on a new date with the customer."),
        )

    def _what_was_taken(self, job: PlanJob, count: int, days: tuple[PlanDay, ...], when: str) -> Reason:
        found = [o for o in self._first_obstacles(self._beside, job, count, days) if o]
        if not found:
            return Reason(
                rule=8,
                reason=say(
                    "Job {job} shares its flasks with others or fills several, and not all found a slot {when}",
                    job=job.name,
                    when=when,
                ),
                remedy=say("Pin less, add a shift or a kiln load, or put less urgent flasks off."),
            )
        return self._in_words(job, found, "", when)

    def _in_words(self, job: PlanJob, found: list[Obstacle], how: str, when: str) -> Reason:
        common = Counter((o.rule, self._words(job, o)) for o in found)
        (rule, words), _ = max(common.items(), key=lambda item: (item[1], item[0]))
        where = say("in time for {due} {how}", due=day_words(job.due), how=how) if how else when
        return Reason(
            rule=rule,
            reason=say("Job {job} found no place {where}: {words}", job=job.name, where=where, words=words),
            remedy=REMEDIES[rule],
        )

    def _words(self, job: PlanJob, obstacle: Obstacle) -> str:
        """The obstacle, with the day of the patterns where those are what is missing."""
        if obstacle.rule == 6 and job.ready > self.problem.now:
            return say("its patterns are ready on {day}", day=day_words(self.problem.clock.day_of(job.ready)))
        return obstacle.reason

    def _first_obstacles(self, schedule: Schedule, job: PlanJob, count: int, days: tuple[PlanDay, ...]) -> list[Obstacle | None]:
        """For every day, size and kiln the rule in the way; none where the day would do."""
        cast_days = [d for d in days if schedule.table.hours.shifts_of(d)]
        if not cast_days:
            return [Obstacle(8, say("no caster has a shift by then"))]
        return [o for d in drafts_of(self.trees, job, count) for day in cast_days for o in self._obstacles(schedule, d, day, job)]

    def _obstacles(self, schedule: Schedule, flask: Draft, day: PlanDay, job: PlanJob) -> Iterator[Obstacle | None]:
        for kiln in self.trees.kilns_for(flask.size):
            programs = self.trees.programs_for(kiln, [flask.need])
            if not programs:
                continue
            timed = time_load(schedule.table, "probe", kiln, programs[0], [flask], day)
            if isinstance(timed, Obstacle):
                yield self._metal(schedule, flask, job) or timed
            else:
                in_time = schedule.table.hours.day_index(timed.flasks[0].knockout_end) <= schedule.table.hours.due_index(job.due)
                yield None if in_time else Obstacle(8, say("it would be knocked out too late"))

    def _metal(self, schedule: Schedule, flask: Draft, job: PlanJob) -> Obstacle | None:
        melt = self.problem.melt[job.melt]
        if schedule.table.charged[job.melt] + flask.charge <= melt.stock_castable.base:
            return None
        if melt.order_from is None or melt.order_from >= self.problem.end:
            return Obstacle(
                9, say("the shelf cannot make more {alloy}, and none can be here in the days planned", alloy=melt.alloy.name)
            )
        day = day_words(self.problem.clock.day_of(melt.order_from))
        return Obstacle(
            9, say("the shelf cannot make more {alloy} before metal ordered now is here on {day}", alloy=melt.alloy.name, day=day)
        )
