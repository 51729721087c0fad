"""A whole flask in another slot: later or earlier in its kiln load, or in another load on another day."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from domain.errors import DomainError
from domain.planning.check import check
from domain.planning.clock import Minute
from domain.planning.measure import measure, values
from domain.planning.plan import Level, Plan
from domain.planning.problem import Problem
from domain.saying import say
from domain.week.by_hand import movable
from domain.week.new_flask import in_load, open_loads
from domain.week.places import cost_of
from domain.week.refilling import without
from domain.week.reweighing import finished
from domain.week.side_by_side import differing

LOOKS = 14
"""How many slots the checker is asked about before it is said that there are no more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Slot:
    """``plan`` has the flask there, the charges as they were, and has passed the checker; ``cost`` is what
    each level is then worth, less what it was."""

    load: str
    machine: str
    cast_start: Minute
    plan: Plan
    cost: tuple[Level, ...]


def best_slots(
    problem: Problem, plan: Plan, flask: str, most: int = 3, *, load: str | None = None, sound: bool = False
) -> tuple[Slot, ...]:
    """At most ``most`` other slots in loads that are planned, the best by the levels first; only such as
    keep all rules. ``load``: only in this one. ``sound``: the plan itself keeps all rules. Raises
    ``DomainError`` for a flask that does not move."""
    before, found = measure(problem, plan), list[Slot]()
    for option in sorted(_slots(problem, plan, flask, load), key=lambda p: values(p.levels))[:LOOKS]:
        placed = option.flask(flask)
        if placed is None or check(problem, option, metal=False, beside=plan if sound else None):
            continue
        cost = cost_of(before, option)
        found.append(Slot(load=placed.load, machine=placed.machine, cast_start=placed.cast_start, plan=option, cost=cost))
        if len(found) == most:
            break
    return tuple(found)


def move_flask(problem: Problem, plan: Plan, flask: str, load: str, machine: str, cast_start: Minute) -> Plan:
    """The flask in that slot, its metal worked out again; the result may break rules. Raises
    ``DomainError`` where the flask does not move or the load has no such slot."""
    for option in _slots(problem, plan, flask, load):
        placed = option.flask(flask)
        if placed is not None and (placed.machine, placed.cast_start) == (machine, cast_start):
            return finished(problem, plan, option)
    raise DomainError(say("Load {load} has no such slot for {flask} any more.", load=load, flask=flask))


def _slots(problem: Problem, plan: Plan, flask: str, load: str | None = None) -> Iterator[Plan]:
    source = movable(problem, plan, flask)
    kept = without(problem, plan, source, {})
    for one in open_loads(problem, kept, source):
        if load in (None, one.id):
            options = in_load(problem, plan, kept, source, source.contents, one, [source.size])
            yield from (option for option in options if differing(plan, option))
