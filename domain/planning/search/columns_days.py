"""The days of a week to a linear program: when a job may be cast, and how much a day has room for.

Each limit is a count that no plan passes. A kiln's next load is cast no sooner than after its cooling, loading in
open hours, the shortest program and a soak; a flask's next use no sooner than after its knock-out, investing, bench
set, loading, program and soak. Both are timed here one after another, each as soon as may be, so no plan has more
of them between two days. A machine casts no more than its minutes between the hours at which enough casters are
there, and casters cast no more than their shifts and overtime. The bench invests one flask at a time; on the first
day all flasks of a load wait for the last of them, and are cast in what is then left of the day.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

from domain.planning.baseline.hours import Hours
from domain.planning.baseline.trees import Trees, runs
from domain.planning.clock import Minute
from domain.planning.problem import PlanDay, PlanJob
from domain.shop.burnout import Kiln
from domain.shop.casting import CastingMachine

NEVER = -(10**9)
"""The end of a day without enough casters."""
TURNS = 400
"""Turns of one kiln or flask that are timed; more than that is as good as no limit."""


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
        machines = [self.trees.problem.machine[m] for m in melt.machines]
        lasts, crew = min(m.minutes_per_cast for m in machines), min(max(1, m.people) for m in machines)
        found: dict[int, int] = {}
        for index, day in enumerate(self.days):
            opens, closes = with_crew([(s.opens, s.closes) for s in self.hours.shifts_of(day)], crew)
            at = max(first, opens)
            out = self.hours.knockout(at + lasts, melt.alloy.cooling.wait_minutes)
            if out and at + lasts <= closes + self.trees.problem.rules.overtime_minutes:
                found[index] = job.weight * max(0, self.hours.day_index(out[1]) - self.hours.due_index(job.due))
        return found

    def _first_cast(self, job: PlanJob) -> Minute | None:
        """No load with a piece of this job is cast from sooner."""
        problem, rules = self.trees.problem, self.trees.problem.rules
        kinds = [problem.investment[i].bench_set_minutes for i in problem.melt[job.melt].investments]
        needs = self.needs(job)
        invested = self.hours.next_open(max(job.ready, problem.now))
        if invested is None or not kinds or needs is None:
            return None
        loaded = self.hours.next_open(invested + rules.invest_minutes + min(kinds))
        return None if loaded is None else loaded + needs + rules.soak_minutes

    def needs(self, job: PlanJob) -> Minute | None:
        """The minutes of the shortest program that burns the job out in the quickest size that takes it."""
        least = 1 if job.may_split else job.quantity
        takes = [s for s in self.trees.usable_sizes(job.melt) if self.trees.fits(job.melt, s.id, {job.id: least})]
        sizes = [s.burnout_minutes for s in takes]
        burnout = max(job.burnout_minutes, min(sizes, default=0))
        programs = [p.minutes for p in self.trees.problem.shop.programs if p.minutes >= burnout and p.peak >= job.burnout_peak]
        return min(programs, default=None)


@dataclass(frozen=True)
class Room:
    """What the cast days of one week have room for. ``first``: no load is cast sooner; ``program``: none is shorter."""

    days: Days

    @property
    def trees(self) -> Trees:
        return self.days.trees

    @cached_property
    def first(self) -> Minute:
        at = self._used(self.trees.problem.now, self.program)
        return self.trees.problem.end if at is None else at

    @cached_property
    def program(self) -> Minute:
        return min((n for j in self.days.jobs if (n := self.days.needs(j)) is not None), default=0)

    @cached_property
    def quickest(self) -> Minute:
        return min((m.minutes_per_cast for m in self.machines), default=1)

    @cached_property
    def machines(self) -> tuple[CastingMachine, ...]:
        return tuple(m for m in self.trees.problem.shop.machines if m.in_service)

    @cached_property
    def _late(self) -> Minute:
        return self.trees.problem.rules.overtime_minutes

    @cached_property
    def opens(self) -> tuple[Minute, ...]:
        return tuple(opens for opens, _ in self._manned)

    @cached_property
    def last(self) -> tuple[Minute, ...]:
        """By day, the last minute at which a cast may begin; long ago where none may."""
        return tuple(closes + self._late - self.quickest for _, closes in self._manned)

    @cached_property
    def _manned(self) -> tuple[tuple[Minute, Minute], ...]:
        """By day, from when to when, without overtime, the smallest crew may be there."""
        crew = min((max(1, m.people) for m in self.machines), default=1)
        shifts = (self.days.hours.shifts_of(d) for d in self.days.days)
        return tuple(with_crew([(s.opens, s.closes) for s in some], crew) for some in shifts)

    def castable(self, at: Minute) -> Minute | None:
        """The first minute not before this at which some cast may begin."""
        return next((max(at, opens) for opens, last in zip(self.opens, self.last, strict=True) if max(at, opens) <= last), None)

    def reaches(self, day: int) -> int:
        """The last day on which a load may still be cast from that was first cast from on this one."""
        until = max(self.last[: day + 1]) + self.trees.problem.rules.hot_hold_minutes
        return max(n for n, opens in enumerate(self.opens) if n <= day or opens <= until)

    def _used(self, free: Minute, program: Minute) -> Minute | None:
        """When a flask that is free at this minute is cast, at the soonest."""
        problem, hours = self.trees.problem, self.days.hours
        invested = hours.next_open(max(free, problem.now))
        rest = min((i.bench_set_minutes for i in problem.shop.investments), default=0)
        loaded = None if invested is None else hours.next_open(invested + problem.rules.invest_minutes + rest)
        return None if loaded is None else self.castable(loaded + program + problem.rules.soak_minutes)

    def flask_turns(self, burnout: Minute, first: int, last: int) -> int:
        """How often one flask of a size with this burnout is cast between two days."""
        program = max(self.program, min((p.minutes for p in self.trees.problem.shop.programs if p.minutes >= burnout), default=0))
        waits = [m.alloy.cooling.wait_minutes for m in self.trees.problem.melts]

        def following(cast: Minute) -> Minute | None:
            out = self.days.hours.knockout(cast + self.quickest, min(waits, default=0))
            return None if out is None else self._used(out[1], program)

        return self._turns(following, first, last)

    def loads(self, program: Minute, first: int, last: int) -> int:
        """How many loads with programs as long as this, in all kilns, are first cast from between two days."""
        return sum(self._kiln_turns(k, program, first, last) for k in self.trees.problem.shop.kilns if k.in_service)

    def _kiln_turns(self, kiln: Kiln, program: Minute, first: int, last: int) -> int:
        lengths = [p.minutes for p in self.trees.problem.shop.programs if p.minutes >= program and runs(kiln, p)]
        if not lengths:
            return 0
        length = min(lengths)

        def following(cast: Minute) -> Minute | None:
            return self._loaded(kiln, length, cast + kiln.cooldown_minutes)

        return self._turns(following, first, last, begin=self._loaded(kiln, length, self.opens[first], cast=True))

    def _loaded(self, kiln: Kiln, length: Minute, free: Minute, *, cast: bool = False) -> Minute | None:
        """When a load that goes in from this minute on is first cast from; with ``cast`` the minute is that of the cast."""
        soak, problem = self.trees.problem.rules.soak_minutes, self.trees.problem
        at = self.days.hours.next_open(problem.now if cast else max(problem.now, free))
        while at is not None:
            cast_at = self.castable(max(at + length + soak, free if cast else 0))
            if cast_at is None:
                return None
            busy = [e for s, e in self._busy(kiln) if at < e and s < cast_at]
            if not busy:
                return cast_at
            at = self.days.hours.next_open(max(busy))
        return None

    def _busy(self, kiln: Kiln) -> list[tuple[Minute, Minute]]:
        problem = self.trees.problem
        spans = [(w.start, w.end) for w in problem.kiln_outages.get(kiln.id, ())]
        for load in problem.fixed_loads:
            if load.kiln == kiln.id:
                casts = [f.cast_start for f in problem.fixed_flasks if f.load == load.id]
                spans.append((load.load_at, max(casts, default=load.program_end)))
        return spans

    def _turns(self, following: Callable[[Minute], Minute | None], first: int, last: int, begin: Minute | None = None) -> int:
        at = self.castable(max(self.first, self.opens[first])) if begin is None else max(begin, self.first)
        count, until = 0, max(self.last[: last + 1])
        while at is not None and at <= until and count < TURNS:
            count += 1
            at = following(at)
        return count

    def casts(self, first: int, last: int) -> int:
        """How many flasks of loads that are first cast from between two days the machines and casters cast."""
        until = max(self.reaches(n) for n in range(first, last + 1))
        return sum(self._casts_of(n) for n in range(first, until + 1))

    def _casts_of(self, day: int) -> int:
        spans = [(max(s.opens, self.first), s.closes + self._late) for s in self.days.hours.shifts_of(self.days.days[day])]
        machines = [m for m in self.machines if max(1, m.people) <= len(spans)]
        if not machines:
            return 0
        crew = min(max(1, m.people) for m in machines)
        each = sum(_minutes(with_crew(spans, max(1, m.people))) // max(1, m.minutes_per_cast) for m in machines)
        return min(each, _crews(spans, crew) // max(1, min(m.minutes_per_cast for m in machines)))

    def fresh(self, day: int) -> int | None:
        """How many flasks are cast from loads of this day, where all of them are invested on the same day because the
        plan begins with it. None where some may be invested before."""
        problem, hours = self.trees.problem, self.days.hours
        today = self.days.days[day]
        opened = [max(opens, problem.now) for opens, closes in hours.open_days if opens < today.end and closes > problem.now]
        if len(opened) != 1 or opened[0] < today.midnight or self.reaches(day) > day:
            return None
        kilns = sum(self._kiln_turns(k, self.program, day, day) for k in problem.shop.kilns if k.in_service)
        return kilns * self._fresh_of_load(opened[0], self.last[day])

    def _fresh_of_load(self, opened: Minute, last: Minute) -> int:
        """Flask after flask at the bench, all of them in the kiln together, and then at the machines."""
        rules, machines = self.trees.problem.rules, max(1, len(self.machines))
        rest = min((i.bench_set_minutes for i in self.trees.problem.shop.investments), default=0)
        begin = opened + rest + self.program + rules.soak_minutes
        count = 0
        while begin + (count + 1) * rules.invest_minutes + (count // machines) * self.quickest <= last and count < TURNS:
            count += 1
        return count

    def invested(self, day: int) -> int:
        """How many flasks are invested in time to be cast up to this day."""
        problem, hours = self.trees.problem, self.days.hours
        rest = min((i.bench_set_minutes for i in problem.shop.investments), default=0)
        until = max(self.last[: day + 1]) - self.program - problem.rules.soak_minutes - rest
        lasts = max(1, problem.rules.invest_minutes)
        return sum(max(0, min(closes, until) - max(opens, problem.now)) // lasts for opens, closes in hours.open_days)


def with_crew(spans: Sequence[tuple[Minute, Minute]], crew: int) -> tuple[Minute, Minute]:
    """From when at the soonest so many are there to when at the latest they may still be; ``NEVER`` where there are
    fewer."""
    if len(spans) < crew:
        return min(a for a, _ in spans), NEVER
    return sorted(a for a, _ in spans)[crew - 1], sorted((b for _, b in spans), reverse=True)[crew - 1]


def _minutes(span: tuple[Minute, Minute]) -> Minute:
    return max(0, span[1] - span[0])


def _crews(spans: Sequence[tuple[Minute, Minute]], crew: int) -> Minute:
    """The minutes of all crews of so many together."""
    moments = sorted({t for span in spans for t in span})
    return sum((b - a) * (sum(s <= a and b <= e for s, e in spans) // crew) for a, b in pairwise(moments))
