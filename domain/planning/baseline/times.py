"""The timetable: who and what is taken when."""

from __future__ import annotations

from bisect import bisect_left, insort
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from domain.planning.baseline.drafts import Ride, Timed
from domain.planning.baseline.hours import Hours
from domain.planning.clock import Minute
from domain.planning.plan import PlannedFlask
from domain.planning.problem import Problem


@dataclass
class Timetable:
    """Everything that the flasks placed so far take up."""

    problem: Problem
    hours: Hours
    overtime: bool = True
    machine_casts: dict[tuple[str, int], list[tuple[Minute, Minute, str]]] = field(default_factory=lambda: defaultdict(list))
    person_casts: dict[tuple[str, int], list[tuple[Minute, Minute]]] = field(default_factory=lambda: defaultdict(list))
    bench: list[tuple[Minute, Minute]] = field(default_factory=list)
    kilns: dict[str, list[tuple[Minute, Minute]]] = field(default_factory=lambda: defaultdict(list))
    uses: dict[str, list[tuple[Minute, Minute]]] = field(default_factory=lambda: defaultdict(list))
    charged: dict[str, int] = field(default_factory=lambda: defaultdict(int))

    @classmethod
    def of(cls, problem: Problem) -> Timetable:
        """The timetable with what is fixed already in it."""
        table = cls(problem, Hours(problem))
        for flask in problem.fixed_flasks:
            table._take_fixed(flask)
        for load in problem.fixed_loads:
            casts = [f.cast_start for f in problem.fixed_flasks if f.load == load.id]
            cooldown = problem.kiln[load.kiln].cooldown_minutes if load.kiln in problem.kiln else 0
            insort(table.kilns[load.kiln], (load.load_at, max(casts, default=load.program_end) + cooldown))
        return table

    def _take_fixed(self, flask: PlannedFlask) -> None:
        day = self.hours.day_index(flask.cast_start)
        melt = self.problem.melt.get(flask.melt)
        family = melt.alloy.family if melt else flask.melt
        insort(self.machine_casts[flask.machine, day], (flask.cast_start, flask.cast_end, family))
        for person in flask.people:
            insort(self.person_casts[person, day], (flask.cast_start, flask.cast_end))
        insort(self.bench, (flask.invest_start, flask.invest_end))
        insort(self.uses[flask.size], (flask.invest_start, flask.knockout_end))
        if melt and melt.order_from is not None and flask.cast_start >= melt.order_from:
            return
        if self.problem.on_shelf(flask):
            self.charged[flask.melt] += flask.charge.base

    def add(self, ride: Ride) -> None:
        """Takes up what the load needs."""
        for f in ride.flasks:
            day = self.hours.day_index(f.cast_start)
            insort(self.machine_casts[f.machine, day], (f.cast_start, f.cast_end, f.draft.family))
            for person in f.people:
                insort(self.person_casts[person, day], (f.cast_start, f.cast_end))
            insort(self.bench, self._investing(f))
            insort(self.uses[f.draft.size], (f.invest_start, f.knockout_end))
            if self.from_shelf(f.draft.melt, f.cast_start):
                self.charged[f.draft.melt] += f.draft.charge
        insort(self.kilns[ride.kiln], self._in_kiln(ride))

    def remove(self, ride: Ride) -> None:
        """Gives back what the load took."""
        for f in ride.flasks:
            day = self.hours.day_index(f.cast_start)
            self.machine_casts[f.machine, day].remove((f.cast_start, f.cast_end, f.draft.family))
            for person in f.people:
                self.person_casts[person, day].remove((f.cast_start, f.cast_end))
            self.bench.remove(self._investing(f))
            self.uses[f.draft.size].remove((f.invest_start, f.knockout_end))
            if self.from_shelf(f.draft.melt, f.cast_start):
                self.charged[f.draft.melt] -= f.draft.charge
        self.kilns[ride.kiln].remove(self._in_kiln(ride))

    def _investing(self, f: Timed) -> tuple[Minute, Minute]:
        return f.invest_start, f.invest_start + self.problem.rules.invest_minutes

    def _in_kiln(self, ride: Ride) -> tuple[Minute, Minute]:
        last = max(f.cast_start for f in ride.flasks)
        return ride.load_at, last + self.problem.kiln[ride.kiln].cooldown_minutes

    def from_shelf(self, melt: str, cast_start: Minute) -> bool:
        order_from = self.problem.melt[melt].order_from
        return order_from is None or cast_start < order_from

    @property
    def late(self) -> int:
        """Minutes that casters may work beyond their shifts."""
        return self.problem.rules.overtime_minutes if self.overtime else 0

    def last_cast_end(self, closes: Minute) -> Minute:
        return closes + self.late

    def spare_flask(self, size: str, start: Minute, end: Minute, also: Sequence[tuple[Minute, Minute]]) -> bool:
        """Whether one more flask of the size is on the shelf throughout."""
        begun = bisect_left(self.uses[size], (end, 0))
        spans = [s for s in self.uses[size][:begun] if start < s[1]]
        spans += [s for s in also if start < s[1] and s[0] < end]
        owned = self.problem.size[size].owned
        if len(spans) < owned:
            return True
        moments = sorted([(max(s, start), 1) for s, _ in spans] + [(e, -1) for _, e in spans])
        used = 0
        for _, change in moments:
            used += change
            if used >= owned:
                return False
        return owned > 0

    def spare_flasks(self, size: str, starts: Sequence[Minute], until: Minute) -> bool:
        """Whether flasks of the size are on the shelf to be used from each of these minutes until then."""
        first, owned = min(starts), self.problem.size[size].owned
        spans = [s for s in self.uses[size][: bisect_left(self.uses[size], (until, 0))] if first < s[1]]
        if len(spans) + len(starts) <= owned:
            return True
        moments = [(max(s, first), 1) for s, _ in spans] + [(e, -1) for _, e in spans if e < until] + [(s, 1) for s in starts]
        used = 0
        for _, change in sorted(moments):
            used += change
            if used > owned:
                return False
        return True

    def kiln_clash(self, kiln: str, start: Minute, end: Minute) -> Minute | None:
        """When the kiln is free again, where it is taken or out of service in between."""
        for s, e in self.kilns[kiln]:
            if s < end and start < e:
                return e
        return next((w.end for w in self.problem.kiln_outages.get(kiln, ()) if w.start < end and start < w.end), None)


def clash(spans: Sequence[tuple[Minute, Minute]], start: Minute, end: Minute) -> tuple[Minute, Minute] | None:
    """A span that overlaps. Of a long sorted list only those that began within a day before count."""
    near = spans
    if len(spans) > 8:
        near = spans[bisect_left(spans, (start - 1440, 0)) : bisect_left(spans, (end, 0))]
    for span in near:
        if span[0] < end and start < span[1]:
            return span
    return None


def latest_gap(
    spans: Sequence[tuple[Minute, Minute]], also: Sequence[tuple[Minute, Minute]], first: Minute, last: Minute, lasts: Minute
) -> Minute | None:
    """The latest start from ``first`` to ``last`` of something that overlaps no span. Both lists are sorted, and
    a span is no longer than a day."""
    near = spans[bisect_left(spans, (first - 1440, 0)) : bisect_left(spans, (last + lasts, 0))]
    more = also[bisect_left(also, (first - 1440, 0)) : bisect_left(also, (last + lasts, 0))]
    at = last
    for start, end in reversed(sorted([*near, *more]) if more else near):
        if start < at + lasts and at < end:
            at = start - lasts
            if at < first:
                return None
    return at if at >= first else None
