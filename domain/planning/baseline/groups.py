"""Which pieces go into one flask, before anybody has asked when."""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property

from domain.planning.baseline.drafts import Draft, draft
from domain.planning.baseline.hours import Hours
from domain.planning.baseline.trees import Trees
from domain.planning.clock import Minute
from domain.planning.problem import PlanJob, Problem

STILL_OPEN = 12
"""Flasks of one melt that a manager keeps in mind as not yet full."""
SIDE_BY_SIDE = 2
"""Sizes, the roomiest, that are filled side by side where flasks run out sooner than hours."""
NO_ROOM = 10**18
"""More than any flask has."""


@dataclass
class _Open:
    """A flask being filled, with what it has room for still, so that most that does not go in is seen at once.
    ``lead``: when the last of its patterns is ready; ``latest``: until when all its jobs may wait for one;
    ``low`` and ``high``: the thousandths of a degree that they share; ``metal`` in mg; ``surface``: of circle times trunk."""

    melt: str
    size: str
    contents: dict[str, int]
    lead: Minute
    latest: Minute
    low: int
    high: int
    metal: int
    surface: int


@dataclass
class Groups:
    """Fills flasks job after job, first come first filled, a size at a time."""

    trees: Trees
    hours: Hours
    prefix: str = "F"
    made: int = 0
    quick: bool = True
    """a plain look at each tree, not a search for its best rings"""
    slack: dict[str, Minute] = field(default_factory=dict)
    rng: random.Random | None = None
    """where given, jobs come in some order and one size of flask is tried, not all"""
    taken: frozenset[str] = frozenset()
    balanced: bool = False
    """the roomiest sizes side by side, as many of each as the shop owns of it, so that none of them runs out"""

    @property
    def problem(self) -> Problem:
        return self.trees.problem

    def drafts(self, wanted: Mapping[str, int]) -> tuple[list[Draft], dict[str, int]]:
        """Flasks for ``wanted`` pieces by job, and the pieces that no flask can take."""
        by_melt: dict[str, list[PlanJob]] = {}
        for job in sorted((self.problem.job[j] for j, n in wanted.items() if n > 0), key=self._first):
            by_melt.setdefault(job.melt, []).append(job)
        drafts: list[Draft] = []
        left: dict[str, int] = {}
        for melt, jobs in by_melt.items():
            filled, over = self._best_filling(melt, jobs, wanted)
            drafts += self._made(filled)
            left |= over
        return drafts, left

    def _first(self, job: PlanJob) -> tuple[object, ...]:
        """Whose turn it is: the most urgent, or by chance something like it, the bulkiest, or anybody."""
        if self.rng is None:
            return urgency(job)
        if self.mood == 0:
            return (self.hours.due_index(job.due) + self.rng.uniform(0, 3), job.id)
        bulk = (-job.size.height.base, -job.metal_each.base) if self.mood == 1 else ()
        return (*bulk, self.rng.random(), job.id)

    @cached_property
    def mood(self) -> int:
        return self.rng.randrange(3) if self.rng else 0

    def _best_filling(self, melt: str, jobs: list[PlanJob], wanted: Mapping[str, int]) -> tuple[list[_Open], dict[str, int]]:
        """Every size is tried as the one to fill; what holds the most pieces for the least cost is kept."""
        sizes = [s.id for s in self.trees.usable_sizes(melt)]
        if self.balanced:
            filled, left = self._fill(melt, sizes, jobs, wanted)
            return [self._shrunk(f, sizes) for f in filled], left
        tried = [self.rng.choice(sizes)] if self.rng and sizes else sizes
        best: tuple[tuple[int, int], list[_Open], dict[str, int]] | None = None
        for size in tried:
            filled, left = self._fill(melt, [size, *(s for s in sizes if s != size)], jobs, wanted)
            filled = [self._shrunk(f, sizes) for f in filled]
            cost = sum(self.problem.size[f.size].cost for f in filled)
            rank = (sum(left.values()), cost)
            if best is None or rank < best[0]:
                best = rank, filled, left
        return (best[1], best[2]) if best else ([], {j.id: wanted[j.id] for j in jobs})

    def _fill(
        self, melt: str, sizes: list[str], jobs: list[PlanJob], wanted: Mapping[str, int]
    ) -> tuple[list[_Open], dict[str, int]]:
        flasks: list[_Open] = []
        left: dict[str, int] = {}
        made: dict[str, int] = {}
        for job in jobs:
            rest = self._into_open(flasks, job, wanted[job.id])
            rest = self._into_new(flasks, melt, sizes, job, rest, made)
            if rest:
                left[job.id] = rest
        return flasks, left

    def _into_open(self, flasks: list[_Open], job: PlanJob, rest: int) -> int:
        low, high = self.trees.quick.ranges[job.id]
        each, latest = self.trees.quick.metal[job.id], self._latest(job)
        for flask in flasks[-STILL_OPEN:] if self.quick else flasks:
            if not rest:
                break
            if flask.metal < each or flask.low > high or low > flask.high or max(flask.lead, job.ready) > min(flask.latest, latest):
                continue
            if self._surface(flask.size, job) <= flask.surface:
                taken = self.most(flask.melt, flask.size, flask.contents, job, rest)
                if taken:
                    self._put(flask, job, taken)
                    rest -= taken
        return rest

    def _surface(self, size: str, job: PlanJob) -> int:
        """What one piece takes of circle times trunk; more than there is where it does not go in."""
        place = self.trees.quick.place(job.id, size)
        if place is None:
            return NO_ROOM
        return 0 if place.per_tree else place.width * place.height

    def _put(self, flask: _Open, job: PlanJob, count: int) -> None:
        low, high = self.trees.quick.ranges[job.id]
        flask.contents[job.id] = count
        flask.lead, flask.latest = max(flask.lead, job.ready), min(flask.latest, self._latest(job))
        flask.low, flask.high = max(flask.low, low), min(flask.high, high)
        flask.metal -= self.trees.quick.metal[job.id] * count
        flask.surface -= self._surface(flask.size, job) * count

    def _into_new(self, flasks: list[_Open], melt: str, sizes: list[str], job: PlanJob, rest: int, made: dict[str, int]) -> int:
        while rest:
            for size in self._in_turn(sizes, made):
                taken = self.most(melt, size, {}, job, rest)
                if taken:
                    break
            else:
                break
            flask = self._new(melt, size)
            self._put(flask, job, taken)
            flasks.append(flask)
            made[size] = made.get(size, 0) + 1
            rest -= taken
        return rest

    def _in_turn(self, sizes: list[str], made: Mapping[str, int]) -> list[str]:
        """The sizes as they are; in balance, of the roomiest the one first that is used least."""
        if not self.balanced:
            return sizes
        room, owned = self.trees.quick.room, self.problem.size
        roomy = sorted(sizes, key=lambda s: -room[s].circle * room[s].trunk)[:SIDE_BY_SIDE]
        roomy.sort(key=lambda s: Fraction(made.get(s, 0) + 1, owned[s].owned))
        return [*roomy, *(s for s in sizes if s not in roomy)]

    def _new(self, melt: str, size: str) -> _Open:
        room = self.trees.quick.room[size]
        heaviest = self.trees.heaviest(melt, size)
        return _Open(melt, size, {}, 0, self.problem.end, 0, NO_ROOM, heaviest, room.circle * room.height)

    def most(self, melt: str, size: str, contents: Mapping[str, int], job: PlanJob, wanted: int) -> int:
        """How many of ``wanted`` pieces of a job go in beside the contents; all or none where a job
        is not to be split."""
        surely_not = self.trees.most_beside(melt, size, contents, job.id) + 1
        tree = self.trees.quick.plainly if self.quick else self.trees.fits_tree

        def fits(number: int) -> bool:
            return number < surely_not and tree(size, {**contents, job.id: number})

        if surely_not <= 1:
            return 0
        if fits(wanted):
            return wanted
        low, high = 0, wanted if job.may_split else 1
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if fits(middle) else (low, middle)
        return low

    def _latest(self, job: PlanJob) -> Minute:
        """Until when the job may wait for others' patterns without being later than it must be."""
        return max(self._slack(job), job.ready)

    def _slack(self, job: PlanJob) -> Minute:
        """The latest pattern that a flask with this job may wait for: two working days before it is due."""
        if job.id not in self.slack:
            due = self.hours.due_index(job.due)
            opens = [o for o, _ in self.hours.open_days if self.hours.day_index(o) <= due]
            self.slack[job.id] = opens[-2] if len(opens) >= 2 else self.problem.now
        return self.slack[job.id]

    def _shrunk(self, flask: _Open, sizes: list[str]) -> _Open:
        """The flask in the cheapest size that holds what is in it."""
        size = next((s for s in sizes if self.trees.fits(flask.melt, s, flask.contents)), flask.size)
        return replace(flask, size=size)

    def _made(self, flasks: Iterable[_Open]) -> list[Draft]:
        drafts = []
        for flask in flasks:
            made = draft(self.trees, self.next_id(), flask.melt, flask.size, flask.contents)
            if made is not None:
                drafts.append(made)
        return drafts

    def next_id(self) -> str:
        """An id that neither the fixed flasks nor the previous plan have."""
        self.made += 1
        while f"{self.prefix}{self.made}" in self._taken:
            self.made += 1
        return f"{self.prefix}{self.made}"

    @cached_property
    def _taken(self) -> set[str]:
        read = self.problem.previous.flasks if self.problem.previous else ()
        return {f.id for f in (*self.problem.fixed_flasks, *read)} | self.taken


def urgency(job: PlanJob) -> tuple[str, int, str]:
    """Earliest due first, then what counts most a day."""
    return job.due, -job.weight, job.id


def pieces_wanted(problem: Problem) -> dict[str, int]:
    """Pieces of each job that are in no fixed flask."""
    fixed: dict[str, int] = {}
    for flask in problem.fixed_flasks:
        for job, count in flask.contents.items():
            fixed[job] = fixed.get(job, 0) + count
    return {j.id: max(0, j.quantity - fixed.get(j.id, 0)) for j in problem.jobs if j.may_split or j.id not in fixed}


def may_add(problem: Problem, job: str, inside: dict[str, int]) -> bool:
    """Whether more pieces of a job may be planned beside those ``inside``."""
    return problem.job[job].may_split or not inside.get(job)


def pieces_of(drafts: Iterable[Draft]) -> dict[str, int]:
    """How many pieces of each job the flasks hold."""
    counts: dict[str, int] = {}
    for flask in drafts:
        for job, count in flask.contents:
            counts[job] = counts.get(job, 0) + count
    return counts
