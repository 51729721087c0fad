"""Where else pieces may go: the best other places, each as a plan that the checker has passed.

That the shelf suffices is among what it has passed; the charges are weighed out when a place is chosen, because
composing them takes longer than finding all places."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from domain.errors import DomainError
from domain.planning.check import check
from domain.planning.measure import measure, values
from domain.planning.plan import Level, Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.week.by_hand import put_into, taken_out
from domain.week.new_flask import SLOTS, in_load, in_new_load, named_anew, new_sizes, open_loads
from domain.week.reweighing import measured

LOOKS = 14
"""How many places the checker is asked about before it is said that there are no more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """``to``: a flask of the plan, or none for a new one, ``new``, in ``load`` (none: a load of its own).
    ``plan`` has the pieces there, the charges as they were, and has passed the checker; ``cost`` is what each level is then worth,
    less what it was."""

    to: str | None
    load: str | None
    new: str
    plan: Plan
    cost: tuple[Level, ...]

    @property
    def flask(self) -> PlannedFlask:
        found = self.plan.flask(self.to or self.new)
        assert found is not None  # the pieces are in it
        return found


@dataclass(frozen=True, slots=True, kw_only=True)
class _Option:
    to: str | None
    load: str | None
    plan: Plan


def best_places(
    problem: Problem, plan: Plan, job: str, pieces: int, from_flask: str, most: int = 3, *, sound: bool = False
) -> tuple[Place, ...]:
    """At most ``most`` other places for the pieces, the best by the levels first; only such as keep all
    rules. ``sound``: the plan itself keeps them, so that what stands in it is not looked at again. Raises
    ``DomainError`` where the pieces are not there or do not move."""
    source, kept = taken_out(problem, plan, job, pieces, from_flask)
    options = [*_others(problem, plan, kept, source, job, pieces), *_loads(problem, plan, kept, source, job, pieces)]
    found = list(islice(_passed(problem, plan, options, sound), most))
    if len(found) < most:
        found += _passed(problem, plan, list(_own_load(problem, plan, kept, source, job, pieces)), sound)
    return tuple(sorted(found, key=lambda place: values(place.plan.levels)))


def _others(problem: Problem, plan: Plan, kept: Plan, source: PlannedFlask, job: str, pieces: int) -> Iterator[_Option]:
    fixed = {f.id for f in problem.fixed_flasks}
    for target in plan.flasks:
        if target.melt != source.melt or target.id == source.id or target.id in fixed:
            continue
        try:
            put = put_into(problem, plan, kept, source, job, pieces, target.id)
        except DomainError:  # it has no room, no temperature in common, or no room on the floor
            continue
        yield _Option(to=target.id, load=None, plan=measured(problem, plan, put))


def _loads(problem: Problem, plan: Plan, kept: Plan, source: PlannedFlask, job: str, pieces: int) -> Iterator[_Option]:
    try:
        sizes, new = new_sizes(problem, source, {job: pieces}), named_anew(problem, plan, source)
    except DomainError:  # no flask takes these pieces alone
        return
    for load in open_loads(problem, kept, source):
        for put in islice(in_load(problem, plan, kept, new, {job: pieces}, load, sizes), SLOTS):
            yield _Option(to=None, load=load.id, plan=put)


def _own_load(problem: Problem, plan: Plan, kept: Plan, source: PlannedFlask, job: str, pieces: int) -> Iterator[_Option]:
    try:
        yield _Option(to=None, load=None, plan=in_new_load(problem, plan, kept, source, {job: pieces}))
    except DomainError:
        return


def _passed(problem: Problem, plan: Plan, options: list[_Option], sound: bool) -> Iterator[Place]:
    """The best options that the checker passes; of a load, one."""
    before = measure(problem, plan)
    known = {f.id for f in plan.flasks}
    loads: set[str] = set()
    for option in sorted(options, key=lambda o: values(o.plan.levels))[:LOOKS]:
        if option.load in loads or check(problem, option.plan, metal=False, beside=plan if sound else None):
            continue
        loads |= {option.load} if option.load else set()
        new = next((f.id for f in option.plan.flasks if f.id not in known), "")
        yield Place(to=option.to, load=option.load, new=new, plan=option.plan, cost=cost_of(before, option.plan))


def cost_of(before: tuple[Level, ...], plan: Plan) -> tuple[Level, ...]:
    """What each level is worth more than before."""
    return tuple(Level(name=b.name, value=a.value - b.value) for a, b in zip(plan.levels, before, strict=True))
