"""A general scheduling library beside the planner, on a part of its problem.

The part: flasks, what is in them, their temperatures, and which of them share a kiln load and its program are those
of the plan by hand. What is asked is the time of everything: bench, loads, casts on which machine in which order,
knock-out. PyJobShop is asked for least weighted lateness in minutes (it knows no whole days, no overtime, no cost
of a crucible change); its answer is put back into a plan, which the checker checks and our measure measures.
Machines run while enough casters for all machines before them are there. Two more rows: the same part for
the planner's own solver, which may put flasks into other loads, and the whole week as one flat model of that solver.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Any

from pyjobshop import Model, Solution

from domain.planning.baseline.trees import Trees
from domain.planning.check import check
from domain.planning.manager import plan_by_hand
from domain.planning.measure import measure, values
from domain.planning.plan import KilnLoad, Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.planning.solver.case import around
from domain.planning.solver.model import Effort, solve

Span = tuple[int, int]


def compared(problem: Problem, seconds: float, seed: int) -> list[dict[str, Any]]:
    """By hand, the library, the planner's solver on the same part, and one flat model."""
    by_hand = plan_by_hand(problem)
    rows = [_row(problem, "by hand", by_hand, by_hand.seconds, "flasks and loads are given to the next two")]
    began = time.monotonic()
    timed, status = Times(problem, by_hand).solved(seconds)
    rows.append(_row(problem, "PyJobShop, times only", timed, time.monotonic() - began, status))
    names = frozenset(f.id for f in by_hand.flasks)
    for who, kept, note in (
        ("our solver, loads and times", names, "contents given"),
        ("one flat model of the week", frozenset[str](), "no bound"),
    ):
        began = time.monotonic()
        case = around(Trees(problem), by_hand, spare=0 if kept else 1)
        found = solve(case, Effort(seconds=seconds, seed=seed), kept=kept)
        bounds = list(found.bounds.values())
        rows.append(_row(problem, who, found.plan, time.monotonic() - began, note if kept else f"bounds of the model {bounds}"))
    return rows


def _row(problem: Problem, name: str, plan: Plan | None, seconds: float, note: str) -> dict[str, Any]:
    if plan is None:
        return {"name": name, "values": [], "seconds": seconds, "note": f"no plan; {note}"}
    plan = replace(plan, levels=measure(problem, plan))
    broken = [v.message for v in check(problem, plan, metal=False) if v.rule not in (0, 11)]
    note = f"{note}; broken: {broken[0]}" if broken else note
    return {"name": name, "values": values(plan.levels)[:6], "seconds": seconds, "note": note}


class Times:
    """The part as a model of PyJobShop. Times are minutes of the problem's clock."""

    def __init__(self, problem: Problem, plan: Plan) -> None:
        self.problem, self.plan, self.rules = problem, plan, problem.rules
        self.model = Model()
        self.free = self.model.add_renewable(10**6, name="no limit")
        self.door = self.model.add_renewable(10**6, breaks=self._closed(0), name="door")
        self.hands = self.model.add_renewable(10**6, breaks=self._closed(self.rules.overtime_minutes), name="hands")
        self.bench = self.model.add_machine(breaks=self._closed(0), name="bench")
        self.kilns = {k.id: self.model.add_machine(name=k.id) for k in problem.shop.kilns}
        self.owned = {s.id: self.model.add_renewable(s.owned, name=s.id) for s in problem.shop.sizes}
        self.machines = self._machines()
        self.tasks: list[str] = []
        self.casts = {f.id: self._cast(f) for f in plan.flasks}
        takes = self.rules.invest_minutes
        self.invests = {f.id: self._task(f"invest {f.id}", self.bench, takes, self._ready(f)) for f in plan.flasks}
        self.outs = {f.id: self._task(f"out {f.id}", self.hands, self.rules.knockout_minutes) for f in plan.flasks}
        for load in plan.loads:
            self._load(load)
        for flask in plan.flasks:
            self._flask(flask)
        self._jobs()
        self._changes()
        self.model.set_objective(weight_total_tardiness=1)

    def solved(self, seconds: float) -> tuple[Plan | None, str]:
        """The plan with new times; none where the library has found none."""
        found = self.model.solve(time_limit=seconds, num_workers=2, display=False)
        if not found.best or not found.best.tasks:
            return None, str(found.status.value)
        note = f"{found.status.value}, {found.objective:.0f} weighted minutes late, bound {found.lower_bound:.0f}"
        return self._read(found.best), note

    def _task(self, name: str, resource: Any, minutes: int, earliest: int = 0, *, idle: bool = False, job: Any = None) -> Any:
        task = self.model.add_task(job=job, earliest_start=earliest, latest_end=self.problem.end * 2, allow_idle=idle, name=name)
        self.model.add_mode(task, resource, minutes, demands=1 if resource in self.owned.values() else None)
        self.tasks.append(name)
        return task

    def _closed(self, overtime: int) -> list[Span]:
        days = [(d.opens, d.closes) for d in self.problem.days if d.opens is not None and d.closes is not None]
        return _gaps(((opens, closes + overtime) for opens, closes in days), self._until)

    @property
    def _until(self) -> int:
        return self.problem.end * 2

    def _machines(self) -> dict[str, Any]:
        """Each runs while so many casters are there that the machines before it have theirs too."""
        wanted, made = 0, {}
        for machine in self.problem.shop.machines:
            wanted += machine.people
            made[machine.id] = self.model.add_machine(breaks=_gaps(self._staffed(wanted), self._until), name=machine.id)
        return made

    def _staffed(self, wanted: int) -> list[Span]:
        shifts = [(s.opens, s.closes + self.rules.overtime_minutes) for s in self.problem.shifts if s.casts]
        edges = sorted({e for s in shifts for e in s})
        return [(a, b) for a, b in pairwise(edges) if sum(s <= a and b <= e for s, e in shifts) >= wanted]

    def _ready(self, flask: PlannedFlask) -> int:
        return max([self.problem.now, *(self.problem.job[j].ready for j in flask.contents)])

    def _cast(self, flask: PlannedFlask) -> Any:
        melt = self.problem.melt[flask.melt]
        ordered = melt.order_from if melt.order_from is not None and flask.cast_start >= melt.order_from else 0
        task = self.model.add_task(earliest_start=ordered, latest_end=self._until, name=f"cast {flask.id}")
        for m in Trees(self.problem).machines_for(flask.melt, flask.size, flask.contents):
            self.model.add_mode(task, self.machines[m], self.problem.machine[m].minutes_per_cast)
        self.tasks.append(f"cast {flask.id}")
        return task

    def _load(self, load: KilnLoad) -> None:
        """Into the kiln while somebody is there, program, soak, casts in falling temperature, cooling."""
        model, rules = self.model, self.rules
        program = self.problem.program[load.program].minutes
        into = self._task(f"load {load.id}", self.door, 0, self.problem.now)
        burn = self._task(f"burn {load.id}", self.free, program)
        held = self._task(f"held {load.id}", self.kilns[load.kiln], program, idle=True)
        model.add_start_before_start(into, burn)
        model.add_start_at_start(into, held)
        inside = [f for f in self.plan.flasks if f.load == load.id]
        for f in inside:
            cast, kind = self.casts[f.id], self.problem.investment[f.investment]
            model.add_end_before_start(burn, cast, rules.soak_minutes)
            model.add_start_before_end(cast, burn, -(rules.soak_minutes + rules.hot_hold_minutes))
            model.add_start_before_end(cast, held, self.problem.kiln[load.kiln].cooldown_minutes)
            model.add_end_before_start(self.invests[f.id], into, kind.bench_set_minutes)
            model.add_start_before_end(into, self.invests[f.id], -kind.bench_limit_minutes)
        for a in inside:
            for b in inside:
                if a.temperature > b.temperature:
                    model.add_start_before_start(self.casts[a.id], self.casts[b.id], rules.step_soak_minutes)

    def _flask(self, flask: PlannedFlask) -> None:
        wait = self.problem.melt[flask.melt].alloy.cooling.wait_minutes
        self.model.add_end_before_start(self.casts[flask.id], self.outs[flask.id], wait)
        used = self._task(f"use {flask.id}", self.owned[flask.size], 0, idle=True)
        self.model.add_start_at_start(self.invests[flask.id], used)
        self.model.add_end_at_end(self.outs[flask.id], used)

    def _jobs(self) -> None:
        ends = {d.date: d.end for d in self.problem.days}
        for job in self.problem.jobs:
            mine = [f for f in self.plan.flasks if job.id in f.contents]
            due = self.model.add_job(weight=job.weight, due_date=max(0, ends.get(job.due, 0)), name=job.id)
            done = self._task(f"done {job.id}", self.free, 0, job=due)
            for f in mine:
                self.model.add_end_before_start(self.outs[f.id], done)

    def _changes(self) -> None:
        family = {f.id: self.problem.melt[f.melt].alloy.family for f in self.plan.flasks}
        for machine in self.machines.values():
            for a in self.plan.flasks:
                for b in self.plan.flasks:
                    if family[a.id] != family[b.id]:
                        self.model.add_setup_time(machine, self.casts[a.id], self.casts[b.id], self.rules.crucible_change_minutes)

    def _read(self, found: Solution) -> Plan:
        at = {self.model.tasks[n].name: task for n, task in enumerate(found.tasks)}
        machine = {id(r): name for name, r in self.machines.items()}
        flasks, busy = [], dict[str, int]()
        for f in sorted(self.plan.flasks, key=lambda f: at[f"cast {f.id}"].start):
            cast, invest, out = at[f"cast {f.id}"], at[f"invest {f.id}"], at[f"out {f.id}"]
            on = next(machine[id(self.model.resources[r])] for r in cast.resources if id(self.model.resources[r]) in machine)
            flasks.append(
                replace(
                    f,
                    machine=on,
                    people=self._people(on, cast.start, cast.end, busy),
                    cast_start=cast.start,
                    cast_end=cast.end,
                    invest_start=invest.start,
                    invest_end=invest.end,
                    knockout_start=out.start,
                    knockout_end=out.end,
                )
            )
        loads = [self._load_at(load, at) for load in self.plan.loads]
        return replace(self.plan, flasks=tuple(flasks), loads=tuple(loads))

    def _load_at(self, load: KilnLoad, at: dict[str, Any]) -> KilnLoad:
        burn = at[f"burn {load.id}"]
        return replace(load, load_at=at[f"load {load.id}"].start, start=burn.start, program_end=burn.end)

    def _people(self, machine: str, start: int, end: int, busy: dict[str, int]) -> tuple[str, ...]:
        overtime = self.rules.overtime_minutes
        there = [s.person for s in self.problem.shifts if s.casts and s.opens <= start and end <= s.closes + overtime]
        free = [p for p in dict.fromkeys(there) if busy.get(p, 0) <= start]
        chosen = tuple(free[: self.problem.machine[machine].people])
        busy.update(dict.fromkeys(chosen, end))
        return chosen


def _gaps(spans: Iterable[Span], until: int) -> list[Span]:
    """What lies between the spans."""
    found: list[Span] = []
    at = 0
    for start, end in _joined(sorted(spans)):
        if start > at:
            found.append((at, start))
        at = max(at, end)
    return [*found, (at, until)] if at < until else found


def _joined(spans: Sequence[Span]) -> list[Span]:
    result: list[Span] = []
    for start, end in spans:
        if result and start <= result[-1][1]:
            result[-1] = (result[-1][0], max(end, result[-1][1]))
        else:
            result.append((start, end))
    return result
