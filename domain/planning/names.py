"""What flasks and loads are called: short numbers in the order of the clock, never changed once people have read them."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable
from dataclasses import replace
from typing import TypeAlias

from domain.planning.plan import ChargePart, From, Plan
from domain.planning.problem import Problem

Renaming: TypeAlias = Callable[[str], str]
"""From an id to another."""


def _same(name: str) -> str:
    return name


def renamed(plan: Plan, flask: Renaming, load: Renaming = _same) -> Plan:
    """The plan with other ids of its flasks and loads, wherever it names one."""

    def part(p: ChargePart) -> ChargePart:
        return replace(p, ref=flask(p.ref)) if p.origin is From.RETURNS else p

    return replace(
        plan,
        flasks=tuple(replace(f, id=flask(f.id), load=load(f.load)) for f in plan.flasks),
        loads=tuple(replace(k, id=load(k.id), rows=tuple(tuple(flask(f) for f in row) for row in k.rows)) for k in plan.loads),
        charges=tuple(replace(c, flask=flask(c.flask), parts=tuple(part(p) for p in c.parts)) for c in plan.charges),
        orders=tuple(replace(o, flasks=tuple(flask(f) for f in o.flasks)) for o in plan.orders),
    )


def numbered(problem: Problem, plan: Plan) -> Plan:
    """The plan with its new flasks and loads numbered in the order of their casts and starts. What the
    previous plan has, or what does not move, keeps its number; new numbers come after all of those."""
    previous = problem.previous or Plan()
    flasks = {f.id for f in (*previous.flasks, *problem.fixed_flasks)}
    loads = {k.id for k in (*previous.loads, *problem.fixed_loads)}
    in_time = sorted(plan.flasks, key=lambda f: (f.cast_start, f.machine, f.id))
    by_start = sorted(plan.loads, key=lambda k: (k.start, k.kiln, k.id))
    flask_names = _numbers("F", flasks, (f.id for f in in_time))
    load_names = _numbers("L", loads, (k.id for k in by_start))
    return renamed(plan, lambda name: flask_names.get(name, name), lambda name: load_names.get(name, name))


def _numbers(letter: str, kept: Collection[str], in_order: Iterable[str]) -> dict[str, str]:
    used = [int(found[1]) for name in kept if (found := re.match(rf"{letter}([0-9]+)", name))]
    new = [name for name in in_order if name not in kept]
    return {name: f"{letter}{number}" for number, name in enumerate(new, start=max(used, default=0) + 1)}
