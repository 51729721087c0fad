"""From the solver's values to a plan."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

from domain.planning.baseline.drafts import Draft, Ride, Timed, as_flask, as_load, draft
from domain.planning.measure import measure
from domain.planning.nights import alone_until
from domain.planning.plan import KilnLoad, Plan, PlannedFlask
from domain.planning.solver.parts import FlaskVars, LoadVars, Parts, Var

Value = Callable[[Var], int]


def plan_of(parts: Parts, value: Value) -> Plan | None:
    """The plan that the values stand for, measured; flasks and loads that are as before keep their
    names. None where a tree's rings are not found again."""
    reading = _Reading(parts, value, _names(parts))
    rides = [ride for k, load in enumerate(parts.loads) if value(load.used) and (ride := reading.ride(k, load))]
    if len(rides) < sum(value(load.used) for load in parts.loads):
        return None
    problem, trees = parts.case.problem, parts.case.trees
    if any(trees.rings(f.draft.size, f.draft.pieces) is None for ride in rides for f in ride.flasks):
        return None
    flasks = (*problem.fixed_flasks, *(as_flask(trees, ride, f) for ride in rides for f in ride.flasks))
    loads: tuple[KilnLoad, ...] = (*problem.fixed_loads, *(as_load(trees, ride) for ride in rides))
    plan = Plan(
        flasks=tuple(sorted(flasks, key=lambda f: (f.cast_start, f.machine, f.id))),
        loads=tuple(sorted(loads, key=lambda x: (x.start, x.id))),
    )
    return replace(plan, levels=measure(problem, plan))


@dataclass
class _Names:
    """Names of the incumbent's flasks and loads, given again to what is like them."""

    flasks: list[PlannedFlask]
    loads: list[KilnLoad]
    taken: set[str]

    def flask(self, melt: str, contents: dict[str, int]) -> str:
        found = next((f for f in self.flasks if f.contents == contents), None)
        found = found or next((f for f in self.flasks if f.melt == melt and set(f.contents) & set(contents)), None)
        if found:
            self.flasks.remove(found)
            return found.id
        return self._fresh("F")

    def load(self, kiln: str, flasks: Iterable[str]) -> str:
        inside = set(flasks)
        alike = [x for x in self.loads if x.kiln == kiln and inside & set(x.flasks)]
        if alike:
            best = max(alike, key=lambda x: (len(inside & set(x.flasks)), x.id))
            self.loads.remove(best)
            return best.id
        return self._fresh("L")

    def _fresh(self, letter: str) -> str:
        number = next(n for n in range(1, len(self.taken) + 2) if f"{letter}{n}" not in self.taken)
        self.taken.add(f"{letter}{number}")
        return f"{letter}{number}"


def _names(parts: Parts) -> _Names:
    problem, incumbent = parts.case.problem, parts.case.incumbent
    plans = [p for p in (incumbent, problem.previous) if p]
    taken = {f.id for p in plans for f in p.flasks} | {x.id for p in plans for x in p.loads} | set(parts.case.reserved)
    return _Names(list(parts.case.free_flasks), list(parts.case.free_loads), taken)


@dataclass
class _Reading:
    parts: Parts
    value: Value
    names: _Names

    def __post_init__(self) -> None:
        self.ids = self._flask_ids()
        self.people = self._people()

    def _contents(self, f: FlaskVars) -> dict[str, int]:
        return {j: n for j, v in f.count.items() if (n := self.value(v))}

    def _flask_ids(self) -> dict[int, str]:
        """Exact matches are named first, so that no other takes their name."""
        made = {n: self._contents(f) for n, f in enumerate(self.parts.flasks) if self.value(f.used)}
        known = [f.contents for f in self.names.flasks]
        order = sorted(made, key=lambda n: (made[n] not in known, n))
        return {n: self.names.flask(self.parts.flasks[n].melt, made[n]) for n in order}

    def ride(self, k: int, load: LoadVars) -> Ride | None:
        inside = [n for n, f in enumerate(self.parts.flasks) if k in f.load and self.value(f.load[k])]
        timed = [t for n in inside if (t := self._timed(n))]
        if len(timed) < len(inside) or not timed:
            return None
        program = next(p for p in load.programs if self.value(load.program[p.id]))
        start = self.value(load.start)
        until = alone_until(self.parts.case.problem, load.kiln, self.value(load.load_at))
        if until is not None:
            first = min(t.cast_start for t in timed)
            start = max(start, min(first - self.parts.rules.soak_minutes, until) - program.minutes)
        timed.sort(key=lambda t: (t.cast_start, -t.temperature))
        name = self.names.load(load.kiln.id, [t.draft.id for t in timed])
        return Ride(name, load.kiln.id, program.id, self.value(load.load_at), start, start + program.minutes, tuple(timed))

    def _draft(self, n: int) -> Draft | None:
        f = self.parts.flasks[n]
        size = next(s for s, v in f.size.items() if self.value(v))
        made = draft(self.parts.case.trees, self.ids[n], f.melt, size, self._contents(f))
        if made is None:
            return None
        return replace(made, investment=next(i for i, v in f.investment.items() if self.value(v)))

    def _timed(self, n: int) -> Timed | None:
        f, made = self.parts.flasks[n], self._draft(n)
        if made is None:
            return None
        machine = next(m for m, v in f.machine.items() if self.value(v))
        start = self.value(f.cast)
        end = start + self.parts.case.problem.machine[machine].minutes_per_cast
        knockout = self.parts.case.hours.knockout(end, made.wait)
        if knockout is None:
            return None
        degree = self.parts.case.degrees[self.value(f.degree)]
        return Timed(made, degree, machine, self.people[n], self.value(f.invest), start, end, *knockout)

    def _people(self) -> dict[int, tuple[str, ...]]:
        """Names for the hands: of each crew whoever is free, which never runs out for casts in order."""
        busy: dict[str, int] = {}
        names: dict[int, list[str]] = {n: [] for n in self.ids}
        for n in sorted(self.ids, key=lambda n: (self.value(self.parts.flasks[n].cast), n)):
            f = self.parts.flasks[n]
            start = self.value(f.cast)
            for c, crew in enumerate(self.parts.case.crews):
                free = [p for p in crew.people if busy.get(p, -1) <= start][: self.value(f.crew[c])]
                busy |= dict.fromkeys(free, start + self._lasts(f))
                names[n] += free
        return {n: tuple(people) for n, people in names.items()}

    def _lasts(self, f: FlaskVars) -> int:
        machine = next(m for m, v in f.machine.items() if self.value(v))
        return self.parts.case.problem.machine[machine].minutes_per_cast
