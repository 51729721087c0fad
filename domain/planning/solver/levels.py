"""The objectives for the solver, in their order; what is fixed counts too, so that a bound is a bound."""

from __future__ import annotations

from dataclasses import dataclass, field

from domain.planning.measure import family as family_of
from domain.planning.plan import PlannedFlask
from domain.planning.solver.casts import family
from domain.planning.solver.parts import FlaskVars, Parts, Var


def left_out(parts: Parts) -> Var:
    """Σ weight × pieces in no flask."""
    problem, wanted = parts.case.problem, parts.case.wanted
    fixed: dict[str, int] = {}
    for f in problem.fixed_flasks:
        for j, n in f.contents.items():
            fixed[j] = fixed.get(j, 0) + n
    total: Var = 0
    for job in problem.jobs:
        made = sum(f.count[job.id] for f in parts.flasks if job.id in f.count)
        missing = max(0, job.quantity - fixed.get(job.id, 0))
        total += job.weight * (missing - made) if wanted.get(job.id) else job.weight * missing
    return total


def days_late(parts: Parts) -> Var:
    """Σ weight × calendar days from the due date to the last knock-out."""
    case, total = parts.case, 0
    most = len(case.problem.days)
    for job in case.problem.jobs:
        due = case.hours.due_index(job.due)
        ends = [f.knockout_end for f in case.problem.fixed_flasks if job.id in f.contents]
        fixed = max(0, case.problem.clock.day_of(max(ends)).toordinal() - case.hours.first_day.toordinal() - due) if ends else 0
        holders = [f for f in parts.flasks if job.id in f.holds]
        if not holders or due >= most - 1:
            total += job.weight * fixed
            continue
        late = parts.number(fixed, max(fixed, most - due), f"{job.id} late")
        for f in holders:
            for d, day in f.knockout_day.items():
                if d > due + fixed:
                    parts.model.add(late >= d - due).only_enforce_if([f.holds[job.id], day])
        total += job.weight * late
    return total


def cost(parts: Parts) -> Var:
    """Σ cost of flasks and loads."""
    problem = parts.case.problem
    sizes, kilns = problem.size, problem.kiln
    fixed = sum(sizes[f.size].cost for f in problem.fixed_flasks if f.size in sizes)
    fixed += sum(kilns[x.kiln].cost for x in problem.fixed_loads if x.kiln in kilns)
    flasks = sum(sizes[s].cost * v for f in parts.flasks for s, v in f.size.items())
    return fixed + flasks + sum(load.kiln.cost * load.used for load in parts.loads)


def overtime(parts: Parts) -> Var:
    """Σ over days of the minutes by which the last cast ends after the latest shift of a caster."""
    case, total = parts.case, 0
    for d, day in enumerate(case.problem.days):
        closes = max((s.closes for s in case.hours.shifts_of(day)), default=None)
        if closes is None:
            continue
        fixed = [f.cast_end for f in case.problem.fixed_flasks if day.midnight <= f.cast_start < day.end]
        least = max(0, max(fixed, default=closes) - closes)
        if least == 0 and not parts.rules.overtime_minutes:
            continue
        late = parts.number(least, max(least, parts.rules.overtime_minutes + 24 * 60), f"overtime {d}")
        for f in parts.flasks:
            parts.model.add(late >= f.cast + f.lasts - closes).only_enforce_if(f.cast_day[d])
        total += late
    return total


@dataclass
class Sequence:
    """The order of casts on one machine. ``arcs``: from, to, the arc, and whether both are of one day;
    nodes are candidate flasks first, then fixed ones; −1 is the beginning and the end."""

    machine: str
    free: list[FlaskVars]
    fixed: list[PlannedFlask]
    arcs: list[tuple[int, int, Var, Var]] = field(default_factory=list)

    def family(self, parts: Parts, node: int) -> str:
        if node < len(self.free):
            return family(parts, self.free[node])
        return family_of(parts.case.problem, self.fixed[node - len(self.free)])

    def cast(self, node: int) -> Var:
        return self.free[node].cast if node < len(self.free) else self.fixed[node - len(self.free)].cast_start

    def end(self, parts: Parts, node: int) -> Var:
        if node < len(self.free):
            return self.free[node].cast + parts.case.problem.machine[self.machine].minutes_per_cast
        return self.fixed[node - len(self.free)].cast_end

    def day(self, parts: Parts, node: int) -> Var:
        if node < len(self.free):
            return sum(d * v for d, v in self.free[node].cast_day.items())
        start = self.fixed[node - len(self.free)].cast_start
        return parts.case.problem.clock.day_of(start).toordinal() - parts.case.hours.first_day.toordinal()


def say_sequences(parts: Parts) -> None:
    """The order of casts, machine by machine."""
    for m in parts.case.problem.machine:
        free = [f for f in parts.flasks if m in f.machine]
        fixed = parts.case.fixed_on(m)
        if len(free) + len(fixed) > 0:
            sequence = Sequence(m, free, fixed)
            _circuit(parts, sequence)
            parts.sequences.append(sequence)


def _circuit(parts: Parts, sequence: Sequence) -> None:
    model, nodes = parts.model, range(len(sequence.free) + len(sequence.fixed))
    circuit = []
    empty = parts.flag(f"{sequence.machine} idle")
    circuit.append((0, 0, empty))
    for a in nodes:
        for edge in ((-1, a), (a, -1)):
            flag = parts.flag(f"{sequence.machine} {edge}")
            circuit.append((edge[0] + 1, edge[1] + 1, flag))
        if a < len(sequence.free):
            circuit.append((a + 1, a + 1, sequence.free[a].machine[sequence.machine].negated()))
        for b in nodes:
            if a != b and not _backwards(sequence, a, b):
                circuit.append((a + 1, b + 1, _arc(parts, sequence, a, b)))
    model.add_circuit(circuit)


def _backwards(sequence: Sequence, a: int, b: int) -> bool:
    """Two fixed casts keep their order."""
    first = len(sequence.free)
    return a >= first and b >= first and a > b


def _arc(parts: Parts, sequence: Sequence, a: int, b: int) -> Var:
    model = parts.model
    arc, today = parts.flag(f"{sequence.machine} {a}-{b}"), parts.flag(f"{sequence.machine} {a}-{b} same day")
    sequence.arcs.append((a, b, arc, today))
    model.add_implication(today, arc)
    if a < len(sequence.free) or b < len(sequence.free):
        model.add(sequence.cast(b) >= sequence.end(parts, a)).only_enforce_if(arc)
    model.add(sequence.day(parts, b) >= sequence.day(parts, a) + 1).only_enforce_if([arc, today.negated()])
    return arc


def changes(parts: Parts) -> Var:
    """Consecutive casts of one machine and day with different families."""
    return sum(today for s in parts.sequences for a, b, _, today in s.arcs if s.family(parts, a) != s.family(parts, b))


def idle(parts: Parts) -> Var:
    """Gaps between consecutive casts of one machine and day, less the crucible change where there is one."""
    total, change = 0, parts.rules.crucible_change_minutes
    for s in parts.sequences:
        for a, b, _, today in s.arcs:
            less = change if s.family(parts, a) != s.family(parts, b) else 0
            gap = parts.number(0, 2 * 24 * 60, f"{s.machine} {a}-{b} waits")
            parts.model.add(gap >= s.cast(b) - s.end(parts, a) - less).only_enforce_if(today)
            total += gap
    return total
