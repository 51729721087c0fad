"""Flasks and loads on their way into a plan: what is known before and after they have their times."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from domain.planning.baseline.trees import Need, Trees
from domain.planning.clock import Minute
from domain.planning.plan import KilnLoad, PlannedFlask
from domain.units import Temperature


@dataclass(frozen=True)
class Draft:
    """A flask's contents and what follows from them. ``low`` and ``high``: common temperature range in
    thousandths of a degree. ``machines``: those whose crucible holds the charge, in mg."""

    id: str
    melt: str
    size: str
    investment: str
    contents: tuple[tuple[str, int], ...]
    low: int
    high: int
    ready: Minute
    machines: tuple[str, ...]
    family: str
    charge: int
    wait: int
    need: Need

    @cached_property
    def pieces(self) -> dict[str, int]:
        return dict(self.contents)


class Timed(NamedTuple):
    """A flask with its times."""

    draft: Draft
    temperature: int
    machine: str
    people: tuple[str, ...]
    invest_start: Minute
    cast_start: Minute
    cast_end: Minute
    knockout_start: Minute
    knockout_end: Minute


class Ride(NamedTuple):
    """A kiln load with its times."""

    id: str
    kiln: str
    program: str
    load_at: Minute
    start: Minute
    program_end: Minute
    flasks: tuple[Timed, ...]

    @property
    def drafts(self) -> list[Draft]:
        return [f.draft for f in self.flasks]


class Obstacle(NamedTuple):
    """The rule in the way of a time, in words that follow “because”."""

    rule: int
    reason: str


def draft(trees: Trees, flask_id: str, melt: str, size: str, contents: dict[str, int]) -> Draft | None:
    """What follows from contents and size; none where they do not go together."""
    contents = {j: n for j, n in sorted(contents.items()) if n}
    shared = trees.temperatures(contents)
    machines = trees.machines_for(melt, size, contents)
    investments = trees.investments_for(melt, contents, size)
    if shared is None or not machines or not investments:
        return None
    problem, alloy = trees.problem, trees.problem.melt[melt].alloy
    return Draft(
        id=flask_id,
        melt=melt,
        size=size,
        investment=investments[0],
        contents=tuple(contents.items()),
        low=shared.low.millidegrees,
        high=shared.high.millidegrees,
        ready=max([problem.now, *(problem.job[j].ready for j in contents)]),
        machines=machines,
        family=alloy.family,
        charge=trees.charge(melt, size, contents).base,
        wait=alloy.cooling.wait_minutes,
        need=trees.need(size, investments[0], contents),
    )


def falling(drafts: Iterable[Draft]) -> list[tuple[Draft, int]]:
    """The flasks in falling temperature with the fewest steps down, families together at each step.

    The highest of the lower ends is the first temperature; every flask whose range holds it takes it.
    """
    left = sorted(drafts, key=lambda d: (-d.low, d.family, d.melt, d.id))
    result: list[tuple[Draft, int]] = []
    last = ""
    while left:
        at = left[0].low
        group = sorted((d for d in left if d.high >= at), key=lambda d: (d.family != last, d.family, d.melt, d.id))
        left = [d for d in left if d.high < at]
        result += [(d, at) for d in group]
        last = group[-1].family
    return result


def as_flask(trees: Trees, ride: Ride, timed: Timed) -> PlannedFlask:
    """The flask as the plan keeps it."""
    d = timed.draft
    rings = trees.rings(d.size, d.pieces)
    assert rings is not None  # a draft is only made of what fits
    return PlannedFlask(
        id=d.id,
        melt=d.melt,
        size=d.size,
        investment=d.investment,
        rings=rings,
        temperature=Temperature(timed.temperature),
        charge=trees.charge(d.melt, d.size, d.pieces),
        invest_start=timed.invest_start,
        invest_end=timed.invest_start + trees.problem.rules.invest_minutes,
        load=ride.id,
        machine=timed.machine,
        people=timed.people,
        cast_start=timed.cast_start,
        cast_end=timed.cast_end,
        knockout_start=timed.knockout_start,
        knockout_end=timed.knockout_end,
    )


def as_load(trees: Trees, ride: Ride) -> KilnLoad:
    """The load as the plan keeps it, its flasks standing in rows."""
    waiting: dict[str, list[str]] = {}
    for flask in ride.flasks:
        waiting.setdefault(flask.draft.size, []).append(flask.draft.id)
    rows = trees.stand({size: len(ids) for size, ids in waiting.items()}, trees.problem.kiln[ride.kiln])
    assert rows is not None  # a ride is only timed for what stands on the floor
    return KilnLoad(
        id=ride.id,
        kiln=ride.kiln,
        program=ride.program,
        rows=tuple(tuple(waiting[size].pop(0) for size in row) for row in rows),
        load_at=ride.load_at,
        start=ride.start,
        program_end=ride.program_end,
    )


def draft_of(trees: Trees, flask: PlannedFlask) -> Draft | None:
    """The flask of an earlier plan as a draft, where it still holds together."""
    contents = flask.contents
    if flask.melt not in trees.problem.melt or flask.size not in trees.problem.size:
        return None
    if any(j not in trees.problem.job for j in contents) or not trees.fits(flask.melt, flask.size, contents):
        return None
    return draft(trees, flask.id, flask.melt, flask.size, contents)
