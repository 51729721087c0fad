"""What stands on the lanes of a time axis: investing, kiln loads, casts, and who is in the shop."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from domain.days import weekday_words
from domain.planning.clock import Clock, Minute
from domain.planning.plan import KilnLoad, Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.saying import say
from webapp.formats import clock as clock_words
from webapp.formats import count


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """A span on a lane. ``kind`` names its style; ``words`` say all of it to who cannot see it.
    ``load``: the kiln load that it shows.
    ``label`` stands in the block, or at ``label_x`` beside it; where it finds no room, ``short`` takes
    its place, or nothing. ``joins``: a label without room waits for the next one, and both stand
    beside that block."""

    kind: str
    start: Minute
    end: Minute
    label: str
    words: str
    short: str = ""
    href: str = ""
    load: str = ""
    joins: bool = False
    row: int = 0
    x: float = 0.0
    width: float = 0.0
    label_x: float = 0.0
    inside: bool = True


def bench_blocks(problem: Problem, plan: Plan, *, gather: bool) -> list[Block]:
    flasks = sorted(plan.flasks, key=lambda f: f.invest_start)
    blocks = [
        Block(
            kind="invest",
            start=f.invest_start,
            end=f.invest_end,
            label=f.id,
            words=say("invest {flask}, {span}", flask=f.id, span=span(problem.clock, f.invest_start, f.invest_end)),
            joins=True,
        )
        for f in flasks
    ]
    return gathered(blocks, problem.clock, say("to invest")) if gather else blocks


def machine_blocks(problem: Problem, plan: Plan, machine: str, *, gather: bool) -> list[Block]:
    blocks = _casts(problem, (f for f in plan.flasks if f.machine == machine))
    outages = [_outage(w.start, w.end) for w in problem.machine_outages.get(machine, ())]
    return outages + (gathered(blocks, problem.clock, say("to cast")) if gather else blocks)


def person_blocks(problem: Problem, plan: Plan, person: str, *, gather: bool) -> list[Block]:
    """When somebody is in the shop, and under it what the plan has them cast."""
    here = [
        Block(
            kind="here",
            start=s.opens,
            end=s.closes,
            label=_hours(problem.clock, s.opens, s.closes),
            words=say("in the shop, {span}", span=span(problem.clock, s.opens, s.closes)),
        )
        for s in problem.shifts
        if s.person == person
    ]
    blocks = _casts(problem, (f for f in plan.flasks if person in f.people))
    return here + (gathered(blocks, problem.clock, say("to cast")) if gather else blocks)


def _hours(clock: Clock, start: Minute, end: Minute) -> str:
    return f"{clock_words(clock.local(start))}–{clock_words(clock.local(end))}"


def _casts(problem: Problem, flasks: Iterable[PlannedFlask]) -> list[Block]:
    return [
        Block(
            kind="cast",
            start=f.cast_start,
            end=f.cast_end,
            label=f.id,
            words=say("cast {flask}, {span}", flask=f.id, span=span(problem.clock, f.cast_start, f.cast_end)),
            joins=True,
        )
        for f in sorted(flasks, key=lambda f: f.cast_start)
    ]


def _outage(start: Minute, end: Minute) -> Block:
    return Block(kind="outage", start=start, end=end, label=say("out of service"), words=say("out of service"))


def kiln_blocks(problem: Problem, plan: Plan, kiln: str) -> list[Block]:
    blocks = [_outage(w.start, w.end) for w in problem.kiln_outages.get(kiln, ())]
    for load in sorted((one for one in plan.loads if one.kiln == kiln), key=lambda one: one.start):
        blocks += load_blocks(problem, load, [f for f in plan.flasks if f.load == load.id])
    return blocks


def load_blocks(problem: Problem, load: KilnLoad, flasks: list[PlannedFlask]) -> list[Block]:
    """Program, soak and casting of one kiln load."""
    clock = problem.clock
    program = problem.program[load.program].name if load.program in problem.program else load.program
    flasks_in = count(len(flasks), "flask")
    blocks = [
        Block(
            kind="program",
            start=load.start,
            end=load.program_end,
            label=say("{load}, {flasks}", load=load.id, flasks=flasks_in),
            short=load.id,
            words=say(
                "kiln load {load}, {flasks}, {program}, {span}",
                load=load.id,
                flasks=flasks_in,
                program=program,
                span=span(clock, load.start, load.program_end),
            ),
            href=f"/week#load-{load.id}",
            load=load.id,
        )
    ]
    if flasks:
        first, last = min(f.cast_start for f in flasks), max(f.cast_start for f in flasks)
        soak = say("{load} soaks and waits, {span}", load=load.id, span=span(clock, load.program_end, first))
        blocks.append(Block(kind="soak", start=load.program_end, end=first, label=say("soak"), words=soak, load=load.id))
        if last > first:
            words = say("{load} is cast from, {span}", load=load.id, span=span(clock, first, last))
            blocks.append(Block(kind="pour", start=first, end=last, label=say("cast"), words=words, load=load.id))
    return blocks


def gathered(blocks: Iterable[Block], clock: Clock, doing: str) -> list[Block]:
    """One block a day in place of many, named by how many there are."""
    days = groupby(sorted(blocks, key=lambda b: b.start), key=lambda b: clock.day_of(b.start))
    return [_together(day, list(group), clock, doing) for day, group in days]


def _together(day: date, blocks: list[Block], clock: Clock, doing: str) -> Block:
    end = max(b.end for b in blocks)
    names = ", ".join(b.label for b in blocks)
    label = say("{number} {doing}", number=len(blocks), doing=doing)
    return Block(
        kind=blocks[0].kind,
        start=blocks[0].start,
        end=end,
        label=label,
        short=str(len(blocks)),
        words=say("{label}: {names}, {span}", label=label, names=names, span=span(clock, blocks[0].start, end)),
        href=f"/today?day={day.isoformat()}",
    )


def span(clock: Clock, start: Minute, end: Minute) -> str:
    """In words: from when to when."""
    one, other = clock.local(start), clock.local(end)
    day, start_words, end_words = weekday_words(one), clock_words(one), clock_words(other)
    if one.date() == other.date():
        return say("{day} {start} to {end}", day=day, start=start_words, end=end_words)
    return say("{day} {start} to {other} {end}", day=day, start=start_words, other=weekday_words(other), end=end_words)
