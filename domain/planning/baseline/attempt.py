"""One load, timed for one casting day: from its first cast backwards to the kiln's start, the loading and
the investing, then forwards through its casts and knock-outs."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from domain.planning.baseline.drafts import Draft, Obstacle, Ride, Timed, falling
from domain.planning.baseline.times import Timetable, clash, latest_gap
from domain.planning.clock import Minute
from domain.planning.nights import alone_until
from domain.planning.problem import PlanDay
from domain.saying import say
from domain.shop.burnout import BurnoutProgram, Kiln
from domain.shop.shop import ShopRules

STEP = 60
"""Minutes by which a first cast slot is put off where the one before it does not work out."""


def time_load(
    table: Timetable, load_id: str, kiln: Kiln, program: BurnoutProgram, drafts: Sequence[Draft], day: PlanDay
) -> Ride | Obstacle:
    """The load cast on ``day`` as early as its flasks, kiln, bench, machines and people allow."""
    order = falling(drafts)
    shifts = table.hours.shifts_of(day)
    if not shifts:
        return Obstacle(8, say("no caster has a shift on {date}", date=day.date))
    attempt = Attempt(table, load_id, kiln, program, order, day)
    first: Minute | None = min(s.opens for s in shifts)
    last = max(s.closes for s in shifts) + table.late
    result: Ride | Obstacle = Obstacle(8, say("no cast slot is left on {date}", date=day.date))
    while first is not None and first < last:
        result = attempt.at(first)
        if isinstance(result, Ride):
            return result
        first = max(first + STEP, attempt.not_before)
    return result


@dataclass
class Attempt:
    """One load, timed from one first cast slot after another."""

    table: Timetable
    load_id: str
    kiln: Kiln
    program: BurnoutProgram
    order: Sequence[tuple[Draft, int]]
    day: PlanDay
    not_before: Minute = 0
    """the first slot that the last failure leaves open"""

    def at(self, first: Minute) -> Ride | Obstacle:
        span = self._span(first)
        if span is None:
            return Obstacle(7, say("{kiln} would have to be loaded before the plan starts", kiln=self.kiln.name))
        load_at, start = span
        busy_until = self.table.kiln_clash(self.kiln.id, load_at, first + 1)
        if busy_until is not None:
            self._wait_for_kiln(busy_until)
            return Obstacle(7, say("{kiln} is taken or out of service", kiln=self.kiln.name))
        invested = self._invest(load_at)
        if isinstance(invested, Obstacle):
            return invested
        ready = start + self._lasts
        from_then_on = max(first, ready + self._rules.soak_minutes)
        if len(self.order) > 1 and (lacking := self._lacking(invested, from_then_on, self.latest_cast(ready))):
            return lacking
        casts = self._casts(from_then_on, self.latest_cast(ready))
        if isinstance(casts, Obstacle):
            return casts
        return self._finish(load_at, start, invested, casts)

    @cached_property
    def _lasts(self) -> Minute:
        return self.program.minutes

    @property
    def _rules(self) -> ShopRules:
        return self.table.problem.rules

    def _lacking(self, invested: dict[str, Minute], first: Minute, latest: Minute) -> Obstacle | None:
        """What is certainly missing for so many flasks, asked before each is timed: flasks until the first cast, and
        the minutes of machines and casters."""
        if len(self.order) > self._most_casts(first, latest):
            return Obstacle(8, say("machines and casters are taken on {date}", date=self.day.date))
        starts: dict[str, list[Minute]] = defaultdict(list)
        for d, _ in self.order:
            starts[d.size].append(invested[d.id])
        lacking = (size for size, mine in starts.items() if not self.table.spare_flasks(size, mine, first))
        size = next(lacking, None)
        return None if size is None else Obstacle(5, say("every {size} flask is in use", size=self.table.problem.size[size].name))

    def _most_casts(self, first: Minute, latest: Minute) -> int:
        """No more casts begin between these minutes of the day, by the minutes that machines and casters have left."""
        index, count, crew, quickest = self.table.hours.day_index(first), 0, 0, self._longest
        machines = {m for d, _ in self.order for m in d.machines}
        for m in (self.table.problem.machine[m] for m in machines):
            casts = [(a, b) for a, b, _ in self.table.machine_casts.get((m.id, index), ())]
            count += max(0, _left(casts, first, latest + m.minutes_per_cast)) // max(1, m.minutes_per_cast)
            crew = min(crew, m.people) if crew else m.people
            quickest = min(quickest, m.minutes_per_cast)
        minutes = 0
        for shift in self.table.hours.shifts_of(self.day):
            until = min(latest + self._longest, self.table.last_cast_end(shift.closes))
            minutes += max(0, _left(self.table.person_casts.get((shift.person, index), ()), max(first, shift.opens), until))
        return min(count, minutes // max(1, crew * quickest)) if crew else count

    def latest_cast(self, program_end: Minute) -> Minute:
        return program_end + self._rules.soak_minutes + self._rules.hot_hold_minutes

    def _wait_for_kiln(self, free: Minute) -> None:
        load_at = self.table.hours.next_open(free)
        soak = self._rules.soak_minutes
        self.not_before = load_at + self._lasts + soak if load_at is not None else self.table.problem.end

    def _span(self, first: Minute) -> tuple[Minute, Minute] | None:
        """When the flasks go in and when the program starts, as late as the first cast allows."""
        start = first - self._rules.soak_minutes - self._lasts
        if self.kiln.unattended:
            load_at = self.table.hours.latest_open(start)
            return (load_at, start) if load_at is not None and load_at >= self.table.problem.now else None
        problem, hours = self.table.problem, self.table.hours
        for opens, closes, ends in reversed(hours.burning[self.kiln.id]):
            at = min(start, ends - self._lasts)
            load_at = min(at, closes)
            if load_at >= max(opens, problem.now):
                return load_at, at
        return None

    def _invest(self, load_at: Minute) -> dict[str, Minute] | Obstacle:
        """When each flask is invested, as late as the bench set allows, the last ready last."""
        taken: list[tuple[Minute, Minute]] = []  # stays sorted
        starts: dict[str, Minute] = {}
        before: dict[str, Minute] = {}  # no later slot is left for flasks that are ready sooner
        for d in sorted((d for d, _ in self.order), key=lambda d: (-d.ready, d.id)):
            kind = self.table.problem.investment[d.investment]
            latest = before.get(d.investment, load_at - kind.bench_set_minutes)
            start = self.bench_slot(latest, max(d.ready, self.table.problem.now), taken)
            if start is None:
                return Obstacle(6, say("its patterns are not ready, or the bench is taken, in time for the kiln"))
            end = start + self._rules.invest_minutes
            if load_at - end > kind.bench_limit_minutes:
                return Obstacle(6, say("it would stand on the bench longer than its investment bears"))
            insort(taken, (start, end))
            starts[d.id] = before[d.investment] = start
        return starts

    def bench_slot(self, end: Minute, not_before: Minute, also: Sequence[tuple[Minute, Minute]]) -> Minute | None:
        """The latest start on the bench that ends by ``end``."""
        lasts = self._rules.invest_minutes
        for opens, closes in reversed(self.table.hours.open_days):
            if opens + lasts > end:
                continue
            at = latest_gap(self.table.bench, also, max(opens, not_before), min(end, closes) - lasts, lasts)
            if at is not None:
                return at
            if not_before >= opens:
                return None
        return None

    def _casts(self, first: Minute, latest: Minute) -> list[Timed] | Obstacle:
        """Each cast as early as may be, in falling temperature."""
        done: list[Timed] = []
        for d, temperature in self.order:
            earliest = first
            if done:
                step = self._rules.step_soak_minutes if temperature < done[-1].temperature else 0
                earliest = done[-1].cast_start + step
            slot = self.slot(d, earliest, latest, done)
            if isinstance(slot, Obstacle):
                return slot
            done.append(slot._replace(temperature=temperature))
        return done

    def slot(self, d: Draft, earliest: Minute, latest: Minute, done: Sequence[Timed]) -> Timed | Obstacle:
        earliest = max(earliest, self._metal_there(d, done))
        slots = [s for m in d.machines for s in [self._on_machine(d, m, earliest, latest, done)] if s is not None]
        if not slots:
            return Obstacle(8, say("machines and casters are taken on {date}", date=self.day.date))
        start, end, machine, people = min(slots)
        knockout = self.table.hours.knockout(end, d.wait)
        if knockout is None:
            return Obstacle(8, say("it could not be knocked out within the days planned"))
        return Timed(d, 0, machine, people, 0, start, end, *knockout)

    def _metal_there(self, d: Draft, done: Sequence[Timed]) -> Minute:
        """From when there is metal for one more charge of this melt."""
        melt = self.table.problem.melt[d.melt]
        here = sum(t.draft.charge for t in done if t.draft.melt == d.melt and self.table.from_shelf(d.melt, t.cast_start))
        if self.table.charged[d.melt] + here + d.charge <= melt.stock_castable.base:
            return 0
        return melt.order_from if melt.order_from is not None else self.table.problem.end

    def _on_machine(
        self, d: Draft, machine: str, earliest: Minute, latest: Minute, done: Sequence[Timed]
    ) -> tuple[Minute, Minute, str, tuple[str, ...]] | None:
        lasts = self.table.problem.machine[machine].minutes_per_cast
        at = earliest
        while at <= latest:
            free = self.machine_free(machine, d.family, at, lasts, done)
            people = self._people(machine, free, free + lasts, done)
            if people is not None and free <= latest:
                return free, free + lasts, machine, people
            following = self._next_moment(free, done)
            if following is None:
                return None
            at = following
        return None

    def machine_free(self, machine: str, family: str, at: Minute, lasts: int, done: Sequence[Timed]) -> Minute:
        change = self._rules.crucible_change_minutes
        casts = self.table.machine_casts.get((machine, self.table.hours.day_index(at)), [])
        taken = casts[bisect_left(casts, (at - 1440 - change,)) :]
        taken += [(t.cast_start, t.cast_end, t.draft.family) for t in self._lately(done, at - change) if t.machine == machine]
        taken += [(w.start, w.end, family) for w in self.table.problem.machine_outages.get(machine, ())]
        for start, end, other in sorted(taken):
            if start >= at + lasts + change:
                break
            gap = change if other != family else 0
            if at < end + gap and at + lasts + gap > start:
                at = end + gap
        return at

    def _lately(self, done: Sequence[Timed], at: Minute) -> list[Timed]:
        """Of casts in their order those that may not have ended by ``at``."""
        begun = at - self._longest
        first = len(done)
        while first and done[first - 1].cast_start > begun:
            first -= 1
        return list(done[first:])

    @cached_property
    def _longest(self) -> Minute:
        return max((m.minutes_per_cast for m in self.table.problem.shop.machines), default=0)

    def _people(self, machine: str, start: Minute, end: Minute, done: Sequence[Timed]) -> tuple[str, ...] | None:
        wanted = self.table.problem.machine[machine].people
        index = self.table.hours.day_index(start)
        casting = {p for t in self._lately(done, start) if t.cast_start < end and start < t.cast_end for p in t.people}
        free: list[str] = []
        for shift in self.table.hours.shifts_of(self.day):
            if not shift.opens <= start or end > self.table.last_cast_end(shift.closes) or shift.person in free:
                continue
            if shift.person not in casting and clash(self.table.person_casts.get((shift.person, index), ()), start, end) is None:
                free.append(shift.person)
        return tuple(free[:wanted]) if len(free) >= wanted else None

    def _next_moment(self, after: Minute, done: Sequence[Timed]) -> Minute | None:
        """The next minute at which somebody comes or is free again."""
        moments: list[Minute] = [t.cast_end for t in self._lately(done, after)]
        index = self.table.hours.day_index(after)
        for shift in self.table.hours.shifts_of(self.day):
            moments.append(shift.opens)
            casts = self.table.person_casts.get((shift.person, index), [])
            moments += [end for _, end in casts[bisect_left(casts, (after - 1440,)) :]]
        return min([m for m in moments if m > after], default=None)

    def _finish(self, load_at: Minute, start: Minute, invested: dict[str, Minute], casts: list[Timed]) -> Ride | Obstacle:
        last = max(t.cast_start for t in casts)
        if self.table.kiln_clash(self.kiln.id, load_at, last + self.kiln.cooldown_minutes) is not None:
            return Obstacle(7, say("{kiln} is taken or out of service", kiln=self.kiln.name))
        timed = [t._replace(invest_start=invested[t.draft.id]) for t in casts]
        used: dict[str, list[tuple[Minute, Minute]]] = defaultdict(list)
        for t in timed:
            span = (t.invest_start, t.knockout_end)
            if not self.table.spare_flask(t.draft.size, *span, used[t.draft.size]):
                return Obstacle(5, say("every {size} flask is in use", size=self.table.problem.size[t.draft.size].name))
            used[t.draft.size].append(span)
        return self._started_late(load_at, start, timed)

    def _started_late(self, load_at: Minute, start: Minute, timed: list[Timed]) -> Ride:
        """The program starts as late as the first cast allows, so that nothing waits hot for nothing."""
        first = min(t.cast_start for t in timed)
        latest = first - self._rules.soak_minutes - self._lasts
        until = alone_until(self.table.problem, self.kiln, load_at)
        if until is not None:
            start = max(start, min(latest, until - self._lasts))
        return Ride(self.load_id, self.kiln.id, self.program.id, load_at, start, start + self._lasts, tuple(timed))


def _left(spans: Sequence[tuple[Minute, Minute]], start: Minute, end: Minute) -> Minute:
    """The minutes from start to end that no span takes; no two spans overlap."""
    return end - start - sum([min(b, end) - max(a, start) for a, b in spans if a < end and start < b])
