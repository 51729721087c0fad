"""Starts for the search: flasks filled in many ways and placed as by hand. In smaller weeks the jobs are parted
by the days that the program over days gives them, its loads and then its flasks rounded one after another."""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from domain.planning.baseline.drafts import Draft, draft
from domain.planning.baseline.groups import Groups, urgency
from domain.planning.baseline.hours import Hours
from domain.planning.baseline.schedule import Schedule
from domain.planning.baseline.trees import Trees
from domain.planning.manager import as_plan
from domain.planning.plan import Plan
from domain.planning.search.columns import Week, week_of
from domain.planning.search.patterns import Patterns

FILLINGS = 12
"""Ways in which the flasks of one melt and day are filled."""
WHOLE = 0.05
"""Shares of a load or flask that are not looked at."""
SETTLED = 1e-6
"""Nearness to a whole number with which nothing is solved again."""


@dataclass(frozen=True)
class Starts:
    """``enough``: asked between steps whether to stop."""

    trees: Trees
    wanted: Mapping[str, int]
    rng: random.Random
    enough: Callable[[], bool]

    def plans(self, limit: int) -> Iterator[Plan]:
        """Flasks filled melt by melt, and day by day as well, for weeks that are no more than ``limit`` weighted days
        late as the program has it."""
        yield from self._both(dict.fromkeys(self.wanted, 0))
        week = week_of(self.trees, self.wanted, limit, 0) if not self.enough() else None
        days = None if week is None or self.enough() else self._days(week)
        if days is not None:
            yield from self.by_patterns(days)
        while not self.enough():
            if days is not None:
                yield from self._both(days)
            yield from self._both(dict.fromkeys(self.wanted, 0))

    def _both(self, days: Mapping[str, int]) -> Iterator[Plan]:
        drafts, rename = self._drafts(days)
        for patient in (False, True):
            yield self._placed(drafts, rename, patient=patient)

    def by_patterns(self, days: Mapping[str, int]) -> Iterator[Plan]:
        """Flasks by patterns, each with jobs of one day, where all are found in time."""
        names = Groups(self.trees, Hours(self.trees.problem))
        drafts: list[Draft] = []
        for _, melt, pieces in self._parts(days):
            flasks = Patterns(self.trees, melt, pieces, self.enough).flasks()
            made = [draft(self.trees, names.next_id(), melt, f.size, dict(f.contents)) for f in flasks or ()]
            if flasks is None or not all(made):
                return
            drafts += [d for d in made if d]
        for patient in (False, True):
            yield self._placed(drafts, names.next_id, patient=patient)

    def _parts(self, days: Mapping[str, int]) -> list[tuple[int, str, dict[str, int]]]:
        """Pieces by day and melt."""
        groups: dict[tuple[int, str], dict[str, int]] = defaultdict(dict)
        for j, day in days.items():
            groups[day, self.trees.problem.job[j].melt][j] = self.wanted[j]
        return [(*key, groups[key]) for key in sorted(groups)]

    def _days(self, week: Week) -> dict[str, int] | None:
        """The day of each job, after the loads and then the flasks are rounded, one day
        after another, each time with the cheapest rest."""
        dive = week.model.opened()
        values = dive.values()
        for group in (list(week.loads.values()), list(week.flasks.values())):
            settled: set[int] = set()
            while values is not None and not self.enough():
                v = _nearest(values, [v for v in group if v not in settled])
                if v is None:
                    break
                settled.add(v)
                dive.narrow(v, max(1, round(values[v])))
                values = values if abs(values[v] - round(values[v])) < SETTLED <= values[v] else dive.values()
        return None if values is None else {j: self._of_job(week, j, values) for j in self.wanted}

    def _of_job(self, week: Week, job: str, values: tuple[float, ...]) -> int:
        """The day that has the most of the job."""
        shares = {d: sum(values[v] for v in some) for (j, d), some in week.pieces.items() if j == job}
        return max(shares, key=lambda d: (shares[d], -d))

    def _drafts(self, days: Mapping[str, int]) -> tuple[list[Draft], Callable[[], str]]:
        """Flasks, each with jobs of one day."""
        taken: frozenset[str] = frozenset()
        drafts: list[Draft] = []
        for _, _, pieces in self._parts(days):
            mine = self._filled(pieces, taken)
            taken |= {d.id for d in mine}
            drafts += mine
        rest = Groups(self.trees, Hours(self.trees.problem), taken=taken)
        return drafts, rest.next_id

    def _filled(self, pieces: Mapping[str, int], taken: frozenset[str]) -> list[Draft]:
        """The cheapest of some fillings."""
        best: tuple[int, list[Draft]] | None = None
        for n in range(FILLINGS):
            if n and self.enough():
                break
            groups = Groups(self.trees, Hours(self.trees.problem), quick=False, rng=self.rng if n else None, taken=taken)
            drafts, left = groups.drafts(pieces)
            cost = sum(self.trees.problem.size[d.size].cost for d in drafts) + 10**9 * sum(left.values())
            if best is None or cost < best[0]:
                best = cost, drafts
        return best[1] if best else []

    def _placed(self, drafts: list[Draft], rename: Callable[[], str], *, patient: bool) -> Plan:
        jobs = self.trees.problem.job
        schedule = Schedule.of(self.trees, patient=patient)
        order = sorted(drafts, key=lambda d: (*min(urgency(jobs[j]) for j, _ in d.contents), d.id))
        schedule.insert_all(order, rename)
        return as_plan(schedule)


def _nearest(values: Sequence[float], variables: Iterable[int]) -> int | None:
    """The variable in use that is nearest to a whole number."""
    used = [v for v in variables if values[v] > WHOLE]
    return max(used, key=lambda v: (-abs(values[v] - round(values[v])), values[v]), default=None)
