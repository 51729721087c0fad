"""What would mend a late or left-out job: changes are tried beside the plan, and only those that help are named."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

from domain.planning.baseline.drafts import Draft
from domain.planning.baseline.held import Held
from domain.planning.baseline.hours import Hours
from domain.planning.baseline.trees import Trees
from domain.planning.explain.changes import (
    AddFlask,
    AllowSplit,
    Both,
    Change,
    EarlierPatterns,
    KilnBack,
    LaterDate,
    MetalBy,
    MoreMetal,
    NightLoad,
    Overtime,
    PlanAhead,
    SecondKiln,
    SecondMachine,
    WorkOn,
)
from domain.planning.explain.never import Reason, drafts_of, together
from domain.planning.explain.obstacles import Obstacles
from domain.planning.explain.when import Probe
from domain.planning.measure import days_late, planned_pieces
from domain.planning.plan import Plan
from domain.planning.problem import PlanDay, PlanJob, Problem
from domain.units import Mass

MOST = 3
"""Reasons for one job."""
BUDGET = 3000
"""Flasks of the plan times changes tried, for all jobs together."""
SPARE = 3000
"""The same once more, for jobs left out for which nothing was found: only what is in the way of them is tried."""
DAYS = 3
"""Days tried for one kind of change, the nearest first."""


@dataclass
class Mends:
    """Tries changes of a problem beside a plan."""

    problem: Problem
    plan: Plan
    budget: int = BUDGET
    spare: int = SPARE
    tried: dict[Change, Held] = field(default_factory=dict)

    @cached_property
    def trees(self) -> Trees:
        return Trees(self.problem)

    @cached_property
    def late(self) -> dict[str, int]:
        return days_late(self.problem, self.plan)

    def reasons(self, job: PlanJob, most: int = MOST) -> tuple[Reason, ...]:
        """At most ``most`` changes that help, one of each kind, each with what it gets out of the way."""
        found: dict[tuple[type, ...], Reason] = {}
        for change in self._candidates(job):
            if _kind(change) in found or (found and isinstance(change, Both | LaterDate | PlanAhead)):
                continue
            reason = self._try(job, change)
            if reason is not None:
                found[_kind(change)] = reason
            if len(found) == most:
                break
        return tuple(found.values()) or self._what_is_in_the_way(job)

    def _what_is_in_the_way(self, job: PlanJob) -> tuple[Reason, ...]:
        """The first change that mends the rule in the way of a job left out, tried however many were tried before."""
        pieces = job.quantity - planned_pieces(self.plan).get(job.id, 0)
        if pieces < 1 or not (days := self._days(job)):
            return ()
        self.budget, self.spare = self.spare, 0
        first = self._of_rule(job, days)[self._probe.why_full(job, pieces).rule]
        flasks, metal = self._flasks(job), self._metal(job, days)
        both = [Both(a, b) for a in metal for b in [*flasks[:2], *self._kilns(days)] if _kind(a) != _kind(b)]
        ahead = [Both(PlanAhead(7), c) for c in [*metal, *first] if _kind(c) != (PlanAhead,)]
        found = next((r for change in [*first, *both, *ahead] if (r := self._try(job, change))), None)
        self.budget, self.spare = 0, max(0, self.budget)
        return (found,) if found else ()

    def _of_rule(self, job: PlanJob, days: list[PlanDay]) -> dict[int, list[Change]]:
        found: dict[int, list[Change]] = defaultdict(list)
        found[5], found[6], found[9] = self._flasks(job), self._patterns(job, days), self._metal(job, days)
        found[7], found[8] = self._kilns(days), [*self._hours(days), *self._machines(job)]
        return found

    @cached_property
    def _probe(self) -> Probe:
        return Probe(self.problem, self.plan)

    def _try(self, job: PlanJob, change: Change) -> Reason | None:
        if isinstance(change, LaterDate):  # needs no trying, and is the last advice
            return Obstacles(self.problem, self.plan).reason(job, change, ())
        if self.budget < len(self.plan.flasks) and not isinstance(change, PlanAhead):
            return None
        self.budget -= len(self.plan.flasks)
        if change not in self.tried:
            changed = change.apply(self.problem)
            self.tried[change] = Held.holding_plan(self.trees.beside(changed), self.plan)
        held = self.tried[change]
        before = dict(held.schedule.rides)
        if not held.mend(job.id):
            return None
        places = [(r, f) for r in held.schedule.rides.values() for f in r.flasks if job.id in f.draft.pieces]
        held.restore(before)
        return Obstacles(self.problem, self.plan).reason(job, change, places)

    def _candidates(self, job: PlanJob) -> Iterator[Change]:
        """What may help, the least trouble first."""
        days = self._days(job)
        if not days:
            yield LaterDate(job.id, self._done(job))
            return
        yield from self._patterns(job, days)
        yield from self._metal(job, days)
        single = [*self._flasks(job), *self._kilns(days), *self._hours(days), *self._machines(job)]
        yield from single
        if not job.may_split and job.quantity > 1:
            yield AllowSplit(job.id)
        firsts = [*self._flasks(job)[:2], *self._patterns(job, days), *self._metal(job, days)]
        rest = [*self._kilns(days[:1]), *self._hours(days[:1]), *self._machines(job)]
        yield from (Both(a, b) for a in firsts[:3] for b in [*rest, *firsts] if _kind(a) != _kind(b))
        yield from (Both(a, b) for a in self._kilns(days[:1]) for b in [*self._hours(days[:1]), *self._machines(job)])
        yield LaterDate(job.id, self._done(job)) if job.id in self.late else PlanAhead(7)

    def _done(self, job: PlanJob) -> str:
        """The day on which the job is done as planned."""
        ends = [f.knockout_end for f in self.plan.flasks if job.id in f.contents]
        return self.problem.clock.day_of(max(ends, default=self.problem.end - 1)).isoformat()

    def _days(self, job: PlanJob) -> list[PlanDay]:
        """Days on which a cast would be less late than planned, the last that is in time first, later ones behind."""
        hours, done = self._hours_of, self._done(job)
        left = job.id not in self.late
        cast = [d for d in hours.cast_days if d.end > self.problem.now and (left or d.date < done)]
        in_time = [d for d in cast if d.date <= job.due]
        return [*reversed(in_time), *(d for d in cast if d.date > job.due)]

    @cached_property
    def _hours_of(self) -> Hours:
        return Hours(self.problem)

    def _patterns(self, job: PlanJob, days: list[PlanDay]) -> list[Change]:
        """Patterns ready some working days before the cast, not sooner than needed."""
        if job.ready <= self.problem.now:
            return []
        opens = [d for d in self.problem.days if d.opens is not None and d.midnight < job.ready]
        before = [d.date for d in opens if d.date <= days[0].date]
        return [EarlierPatterns(job.id, day) for day in list(reversed(before))[:DAYS] + before[:1]]

    def _metal(self, job: PlanJob, days: list[PlanDay]) -> list[Change]:
        melt = self.problem.melt[job.melt]
        wanted = sum(
            f.charge.base for f in self.plan.flasks if f.melt == job.melt and self.problem.on_shelf(f)
        ) + self._least_charge(job)
        if wanted <= melt.stock_castable.base:
            return []
        if melt.own_lot:
            return [MoreMetal(melt.key, Mass(wanted - melt.stock_castable.base))]
        until = melt.order_from if melt.order_from is not None else self.problem.end
        opens = [d.date for d in self.problem.days if d.opens is not None and d.midnight < until and d.date <= days[0].date]
        return [MetalBy(melt.key, day) for day in list(reversed(opens))[:DAYS] + opens[:1]]

    def _least_charge(self, job: PlanJob) -> int:
        return min((d.charge for d in self._drafts(job)), default=0)

    def _drafts(self, job: PlanJob) -> list[Draft]:
        return drafts_of(self.trees, job, together(job))

    def _flasks(self, job: PlanJob) -> list[Change]:
        sizes = list(dict.fromkeys(d.size for d in self._drafts(job)))
        return [AddFlask(s, n) for n in (1, 2) for s in sizes]

    def _kilns(self, days: list[PlanDay]) -> list[Change]:
        found: list[Change] = []
        for kiln in self.problem.shop.kilns:
            if not kiln.in_service or self.problem.kiln_outages.get(kiln.id):
                found.append(KilnBack(kiln.id))
            if not kiln.unattended:
                found += [*(NightLoad(kiln.id, night) for night in self._nights(days)), NightLoad(kiln.id)]
        like = [k.id for k in self.problem.shop.kilns if k.in_service]
        return [*found, *(SecondKiln(k, d.date) for d in days[:DAYS] for k in like[:2])]

    def _nights(self, days: list[PlanDay]) -> list[str]:
        """Working days before those tried, on which a load would go in."""
        opens = [d for d in self.problem.days if d.opens is not None and d.closes is not None and d.closes > self.problem.now]
        before = [[d.date for d in opens if d.date < day.date][-1:] for day in days[:DAYS]]
        return list(dict.fromkeys(night for nights in before for night in nights))

    def _hours(self, days: list[PlanDay]) -> list[Change]:
        longer: list[Change] = [Overtime(d.date, n) for n in (60, 120, 240) for d in days[:DAYS]]
        return [*longer, *self._work_on(days)]

    def _work_on(self, days: list[PlanDay]) -> list[Change]:
        """A caster who works on a day without shift, as long as on another."""
        casters = self._hours_of.casters
        if not casters:
            return []
        like = casters[0]
        origin = next(d for d in self.problem.days if d.midnight <= like.opens < d.end).midnight
        opens, closes = like.opens - origin, like.closes - origin
        found: list[Change] = []
        for day in reversed([d for d in self.problem.days if d.date <= days[0].date and d.end > self.problem.now]):
            busy = {s.person for s in self.problem.shifts if day.midnight <= s.opens < day.end}
            free = [p.id for p in self.problem.shop.people if p.casts and p.id not in busy]
            found += [WorkOn(p, day.date, day.midnight + opens, day.midnight + closes) for p in free[:1]]
        return found[:DAYS]

    def _machines(self, job: PlanJob) -> list[Change]:
        return [SecondMachine(m) for m in sorted({m for d in self._drafts(job) for m in d.machines})[:1]]


def _kind(change: Change) -> tuple[type, ...]:
    return tuple(sorted((type(change.one), type(change.other)), key=str)) if isinstance(change, Both) else (type(change),)
