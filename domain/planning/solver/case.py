"""What the solver is asked, in whole numbers: which flasks and loads it may make, of what, and when."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from domain.mould.floor import maximal_counts
from domain.planning.baseline.groups import pieces_wanted
from domain.planning.baseline.hours import Hours
from domain.planning.baseline.trees import Trees, runs
from domain.planning.clock import Minute
from domain.planning.plan import KilnLoad, Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.shop.burnout import BurnoutProgram, Kiln

Span = tuple[Minute, Minute]
Caps = tuple[dict[str, int], dict[str, int]] | None
"""Flasks per melt and loads per kiln that are enough."""


@dataclass(frozen=True, kw_only=True)
class Crew:
    """Casters with the same shifts, who stand in for one another. ``shifts``: (opens, closes) without
    overtime."""

    people: tuple[str, ...]
    shifts: tuple[Span, ...]


@dataclass(frozen=True)
class Case:
    """One problem with the number of flasks per melt and of loads per kiln that the solver may make.
    ``incumbent``: the plan to start from; it keeps within these numbers."""

    trees: Trees
    incumbent: Plan
    flask_slots: dict[str, int]
    load_slots: dict[str, int]
    reserved: frozenset[str] = frozenset()
    """names that new flasks and loads must not take"""

    @property
    def problem(self) -> Problem:
        return self.trees.problem

    @cached_property
    def hours(self) -> Hours:
        return Hours(self.problem)

    @cached_property
    def wanted(self) -> dict[str, int]:
        return {j: n for j, n in pieces_wanted(self.problem).items() if n > 0}

    def jobs_of(self, melt: str) -> list[str]:
        return [j.id for j in self.problem.jobs if j.melt == melt and self.wanted.get(j.id)]

    @cached_property
    def kilns(self) -> list[Kiln]:
        return [k for k in self.problem.shop.kilns if self.load_slots.get(k.id) and k.in_service]

    def programs(self, kiln: Kiln) -> list[BurnoutProgram]:
        return [p for p in self.problem.shop.programs if runs(kiln, p)]

    def sizes_of(self, melt: str) -> list[str]:
        return [s.id for s in self.trees.usable_sizes(melt)]

    @cached_property
    def size_ids(self) -> list[str]:
        used = {s for melt in self.flask_slots for s in self.sizes_of(melt)}
        return [s.id for s in self.problem.shop.sizes if s.id in used]

    def floors(self, kiln: Kiln) -> tuple[list[dict[str, int]], bool]:
        """The fullest loads, and whether these are all of them."""
        counts = maximal_counts([self.problem.size[s] for s in self.size_ids], kiln)
        return [dict(zip(self.size_ids, vector, strict=True)) for vector in counts.counts], counts.complete

    @cached_property
    def degrees(self) -> list[int]:
        """The temperatures that matter: each flask's may be lowered to the highest lower end of any job's
        range that is not above it, which keeps every order and every range."""
        return sorted({self.problem.job[j].temperatures.low.millidegrees for j in self.wanted})

    def degree_span(self, job: str) -> tuple[int, int]:
        """From which to which of ``degrees`` a job may be cast."""
        shared = self.problem.job[job].temperatures
        inside = [i for i, d in enumerate(self.degrees) if shared.low.millidegrees <= d <= shared.high.millidegrees]
        return inside[0], inside[-1]

    @cached_property
    def crews(self) -> list[Crew]:
        """Casters grouped by equal shifts; who is named in a fixed flask stands alone."""
        named = {p for f in self.problem.fixed_flasks for p in f.people}
        shifts: dict[str, list[Span]] = defaultdict(list)
        for shift in self.hours.casters:
            shifts[shift.person].append((shift.opens, shift.closes))
        groups: dict[tuple[object, ...], list[str]] = defaultdict(list)
        for person, spans in shifts.items():
            groups[(*spans, person if person in named else "")].append(person)
        return [Crew(people=tuple(people), shifts=tuple(shifts[people[0]])) for people in groups.values()]

    @cached_property
    def free_flasks(self) -> list[PlannedFlask]:
        fixed = {f.id for f in self.problem.fixed_flasks}
        return [f for f in self.incumbent.flasks if f.id not in fixed]

    @cached_property
    def free_loads(self) -> list[KilnLoad]:
        fixed = {load.id for load in self.problem.fixed_loads}
        return [load for load in self.incumbent.loads if load.id not in fixed]

    def holds_incumbent(self) -> bool:
        """Whether there are slots for everything that the incumbent has."""
        flasks, loads = Counter(f.melt for f in self.free_flasks), Counter(x.kiln for x in self.free_loads)
        enough = all(n <= self.flask_slots.get(melt, 0) for melt, n in flasks.items())
        return enough and all(n <= self.load_slots.get(kiln, 0) for kiln, n in loads.items())

    def fixed_on(self, machine: str) -> list[PlannedFlask]:
        return sorted((f for f in self.problem.fixed_flasks if f.machine == machine), key=lambda f: (f.cast_start, f.id))


def joined(spans: Sequence[Span]) -> list[Span]:
    """The spans with overlapping ones made one."""
    result: list[Span] = []
    for start, end in sorted(s for s in spans if s[0] < s[1]):
        if result and start < result[-1][1]:
            result[-1] = (result[-1][0], max(end, result[-1][1]))
        else:
            result.append((start, end))
    return result


def around(trees: Trees, incumbent: Plan, *, spare: int, reserved: frozenset[str] = frozenset()) -> Case:
    """The case of a neighbourhood: as many flasks and loads as there are, and ``spare`` more of each."""
    problem = trees.problem
    case = Case(trees, incumbent, {}, {})
    flasks: dict[str, int] = defaultdict(int)
    for flask in case.free_flasks:
        flasks[flask.melt] += 1
    loads: dict[str, int] = defaultdict(int)
    for load in case.free_loads:
        loads[load.kiln] += 1
    melts = dict.fromkeys(problem.job[j].melt for j in case.wanted)
    return Case(
        trees,
        incumbent,
        {m: flasks[m] + spare for m in melts if flasks[m] + spare and trees.usable_sizes(m)},
        {k.id: loads[k.id] + spare for k in problem.shop.kilns if loads[k.id] + spare},
        reserved,
    )


def whole(trees: Trees, incumbent: Plan, most: int, caps: Caps = None) -> Case | None:
    """The case in which nothing that could be better is left out, or none where that is more than
    ``most`` flasks. A flask for every piece that may be alone, and as many loads as flasks, but no more
    than ``caps`` (per melt, per kiln) prove to be enough."""
    problem = trees.problem
    wanted = {j: n for j, n in pieces_wanted(problem).items() if n > 0}
    slots: dict[str, int] = defaultdict(int)
    for job_id, count in wanted.items():
        job = problem.job[job_id]
        if trees.usable_sizes(job.melt):
            slots[job.melt] += count if job.may_split else 1
    loads = {k.id: _most_loads(problem, k, sum(slots.values())) for k in problem.shop.kilns}
    if caps is not None:
        slots.update({m: min(n, caps[0].get(m, n)) for m, n in slots.items()})
        loads = {k: min(n, caps[1].get(k, n), sum(slots.values())) for k, n in loads.items()}
    return Case(trees, incumbent, dict(slots), loads) if sum(slots.values()) <= most else None


def _most_loads(problem: Problem, kiln: Kiln, flasks: int) -> int:
    """No kiln runs more loads than there is time for."""
    minutes = [p.minutes for p in problem.shop.programs if runs(kiln, p)]
    if not minutes:
        return 0
    each = min(minutes) + problem.rules.soak_minutes + kiln.cooldown_minutes
    return min(flasks, (problem.end - problem.now) // max(1, each) + 1)
