"""Time axes: a lane each for the bench, every kiln and every casting machine.

Lengths here are units of the drawing, which is as wide as the page: time with nobody in the shop is
drawn narrower, so that a week is seen at once. Words with a unit are left to the template, which knows
the units that the user chose; labels are ids, counts and clock times.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import groupby
from textwrap import wrap

from domain.planning.clock import Clock, Minute
from domain.planning.plan import KilnLoad, Plan, PlannedFlask
from domain.planning.problem import Problem
from webapp.formats import clock as clock_words
from webapp.views.axis_scale import GUTTER, LEAST_DAY, MARGIN, WIDTH, Scale, Tick, scale_of, ticks_of

LANE = 34.0
HEAD = 46.0
LETTER = 7.0
"""How wide a letter of a label is, at most."""


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Lane:
    """``name_lines``: its name as it stands in the gutter."""

    name: str
    name_lines: tuple[str, ...]
    y: float
    height: float
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shade:
    """Somebody is in the shop."""

    x: float
    width: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """``now``: where the present stands, none outside the picture."""

    title: str
    width: float
    height: float
    lanes: tuple[Lane, ...]
    ticks: tuple[Tick, ...]
    shades: tuple[Shade, ...]
    now: float | None
    gutter: float = GUTTER
    head: float = HEAD

    @property
    def wide(self) -> bool:
        """Wider than the page."""
        return self.width > WIDTH + MARGIN

    @property
    def linked(self) -> bool:
        return any(block.href for lane in self.lanes for block in lane.blocks)


def week_axis(problem: Problem, plan: Plan, now: Minute) -> Axis:
    """The days that the plan uses, casts gathered by machine and day."""
    first, last = used_days(problem, plan)
    days = [problem.clock.minute_of(first + timedelta(days=n)) for n in range((last - first).days + 2)]
    scale = scale_of(problem, plan, days, least=LEAST_DAY / 1440)
    lanes = [_bench(problem, plan, gather=True)]
    lanes += [(f"{k.name}", _kiln(problem, plan, k.id)) for k in problem.shop.kilns]
    lanes += [(f"{m.name}", _machine(problem, plan, m.id, gather=True)) for m in problem.shop.machines]
    return _axis("The week on a time axis", problem, scale, lanes, now, hours=6)


def day_axis(problem: Problem, plan: Plan, day: date, now: Minute) -> Axis:
    """One day with every flask of its own, as long as somebody is in the shop or something is done. It
    links to nothing: a glove would hit the wrong block."""
    start, end = _working_span(problem, plan, day)
    scale = scale_of(problem, plan, [*range(start, end, 60), end], least=0.0)
    lanes = [_bench(problem, plan, gather=False)]
    lanes += [(k.name, _kiln(problem, plan, k.id)) for k in problem.shop.kilns]
    lanes += [(m.name, _machine(problem, plan, m.id, gather=False)) for m in problem.shop.machines]
    plain = [(name, [replace(block, href="") for block in blocks]) for name, blocks in lanes]
    return _axis(f"{day:%A} {day.day} {day:%B} on a time axis", problem, scale, plain, now, hours=1)


def used_days(problem: Problem, plan: Plan) -> tuple[date, date]:
    """The first and the last day on which the plan has something to do; the first of the horizon
    where it has nothing."""
    clock = problem.clock
    starts = [f.invest_start for f in plan.flasks] + [load.load_at for load in plan.loads]
    ends = [f.knockout_end for f in plan.flasks] + [load.program_end for load in plan.loads]
    if not starts:
        return clock.first_day, clock.first_day
    return clock.day_of(min(starts)), clock.day_of(max(ends))


def _working_span(problem: Problem, plan: Plan, day: date) -> tuple[Minute, Minute]:
    start, end = problem.clock.minute_of(day), problem.clock.minute_of(day + timedelta(days=1))
    times = [t for s in problem.shifts for t in (s.opens, s.closes)]
    times += [t for f in plan.flasks for t in (f.invest_start, f.invest_end, f.cast_start, f.knockout_end)]
    times += [t for load in plan.loads for t in (load.load_at, load.start)]
    today = [t for t in times if start <= t < end]
    if not today:
        return start + 8 * 60, start + 17 * 60
    return max(start, (min(today) - 30) // 60 * 60), min(end, -(-(max(today) + 30) // 60) * 60)


def _bench(problem: Problem, plan: Plan, *, gather: bool) -> tuple[str, list[Block]]:
    flasks = sorted(plan.flasks, key=lambda f: f.invest_start)
    blocks = [
        Block(
            kind="invest",
            start=f.invest_start,
            end=f.invest_end,
            label=f.id,
            words=f"invest {f.id}, {span(problem.clock, f.invest_start, f.invest_end)}",
            joins=True,
        )
        for f in flasks
    ]
    return "Bench", gathered(blocks, problem.clock, "to invest") if gather else blocks


def _machine(problem: Problem, plan: Plan, machine: str, *, gather: bool) -> list[Block]:
    flasks = sorted((f for f in plan.flasks if f.machine == machine), key=lambda f: f.cast_start)
    blocks = [
        Block(
            kind="cast",
            start=f.cast_start,
            end=f.cast_end,
            label=f.id,
            words=f"cast {f.id}, {span(problem.clock, f.cast_start, f.cast_end)}",
            joins=True,
        )
        for f in flasks
    ]
    outages = [_outage(w.start, w.end) for w in problem.machine_outages.get(machine, ())]
    return outages + (gathered(blocks, problem.clock, "to cast") if gather else blocks)


def _outage(start: Minute, end: Minute) -> Block:
    return Block(kind="outage", start=start, end=end, label="out of service", words="out of service")


def _kiln(problem: Problem, plan: Plan, kiln: str) -> list[Block]:
    blocks = [_outage(w.start, w.end) for w in problem.kiln_outages.get(kiln, ())]
    for load in sorted((one for one in plan.loads if one.kiln == kiln), key=lambda one: one.start):
        blocks += load_blocks(problem, load, [f for f in plan.flasks if f.load == load.id])
    return blocks


def load_blocks(problem: Problem, load: KilnLoad, flasks: list[PlannedFlask]) -> list[Block]:
    """Program, soak and casting of one kiln load."""
    clock = problem.clock
    program = problem.program[load.program].name if load.program in problem.program else load.program
    count = f"{len(flasks)} flask{'s' if len(flasks) != 1 else ''}"
    blocks = [
        Block(
            kind="program",
            start=load.start,
            end=load.program_end,
            label=f"{load.id}, {count}",
            short=load.id,
            words=f"kiln load {load.id}, {count}, {program}, {span(clock, load.start, load.program_end)}",
            href=f"/week#load-{load.id}",
            load=load.id,
        )
    ]
    if flasks:
        first, last = min(f.cast_start for f in flasks), max(f.cast_start for f in flasks)
        soak = f"{load.id} soaks and waits, {span(clock, load.program_end, first)}"
        blocks.append(Block(kind="soak", start=load.program_end, end=first, label="soak", words=soak, load=load.id))
        if last > first:
            words = f"{load.id} is cast from, {span(clock, first, last)}"
            blocks.append(Block(kind="pour", start=first, end=last, label="cast", words=words, load=load.id))
    return blocks


def gathered(blocks: Iterable[Block], clock: Clock, doing: str) -> list[Block]:
    """One block a day in place of many, named by how many there are."""
    days = groupby(sorted(blocks, key=lambda b: b.start), key=lambda b: clock.day_of(b.start))
    return [_together(day, list(group), clock, doing) for day, group in days]


def _together(day: date, blocks: list[Block], clock: Clock, doing: str) -> Block:
    end = max(b.end for b in blocks)
    names = ", ".join(b.label for b in blocks)
    return Block(
        kind=blocks[0].kind,
        start=blocks[0].start,
        end=end,
        label=f"{len(blocks)} {doing}",
        short=str(len(blocks)),
        words=f"{len(blocks)} {doing}: {names}, {span(clock, blocks[0].start, end)}",
        href=f"/today?day={day.isoformat()}",
    )


def span(clock: Clock, start: Minute, end: Minute) -> str:
    """In words: from when to when."""
    one, other = clock.local(start), clock.local(end)
    if one.date() == other.date():
        return f"{one:%a} {clock_words(one)} to {clock_words(other)}"
    return f"{one:%a} {clock_words(one)} to {other:%a} {clock_words(other)}"


def _axis(title: str, problem: Problem, scale: Scale, lanes: list[tuple[str, list[Block]]], now: Minute, *, hours: int) -> Axis:
    placed: list[Lane] = []
    y = HEAD
    for name, blocks in lanes:
        rows = _stacked([b for b in blocks if b.end > scale.start and b.start < scale.end])
        count = 1 + max((b.row for b in rows), default=0)
        placed.append(
            Lane(
                name=name,
                name_lines=tuple(wrap(name, 18, max_lines=2, placeholder="…")),
                y=y,
                height=LANE * count,
                blocks=tuple(_labelled(rows, scale)),
            )
        )
        y += LANE * count + 6
    return Axis(
        title=title,
        width=max(scale.x(scale.end) + MARGIN, WIDTH),
        height=y + 14,
        lanes=tuple(placed),
        ticks=tuple(ticks_of(problem.clock, scale, hours)),
        shades=_shades(problem, scale),
        now=scale.x(now) if scale.start <= now <= scale.end else None,
    )


def _shades(problem: Problem, scale: Scale) -> tuple[Shade, ...]:
    """Where somebody is in the shop, shifts that overlap or touch joined into one."""
    joined: list[tuple[Minute, Minute]] = []
    for shift in sorted(problem.shifts, key=lambda s: s.opens):
        if joined and shift.opens <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(joined[-1][1], shift.closes))
        else:
            joined.append((shift.opens, shift.closes))
    inside = [(a, b) for a, b in joined if b > scale.start and a < scale.end]
    return tuple(Shade(x=scale.x(a), width=round(scale.x(b) - scale.x(a), 1)) for a, b in inside)


def _stacked(blocks: list[Block]) -> list[Block]:
    """Blocks that overlap in time go on rows of their own."""
    free: list[Minute] = []
    placed: list[Block] = []
    for block in sorted(blocks, key=lambda b: (b.start, b.end)):
        row = next((r for r, end in enumerate(free) if end <= block.start), len(free))
        free[row : row + 1] = [block.end]
        placed.append(replace(block, row=row))
    return placed


def _labelled(blocks: list[Block], scale: Scale) -> list[Block]:
    """Each label in its block, else to the right of it where nothing follows, else nowhere."""
    placed: list[Block] = []
    waiting: dict[int, list[str]] = {}
    for block in blocks:
        x, end = scale.x(block.start), scale.x(block.end)
        room = _next(blocks, block, scale) - end
        before = waiting.pop(block.row, [])
        label, inside = _label(block, before, end - x, room)
        if not label and block.joins:
            waiting[block.row] = [*before, block.label]
        label_x = (x + end) / 2 if inside else end + 4
        width = max(end - x, 2.0)
        placed.append(replace(block, x=x, width=round(width, 1), label=label, label_x=round(label_x, 1), inside=inside))
    return placed


def _next(blocks: list[Block], block: Block, scale: Scale) -> float:
    """Where the next block of its row begins, or the drawing ends."""
    later = (scale.x(b.start) for b in blocks if b.row == block.row and b.start >= block.end and b is not block)
    return min(later, default=scale.x(scale.end) + MARGIN)


def _label(block: Block, before: list[str], width: float, room: float) -> tuple[str, bool]:
    """The label that finds room, and whether that is inside the block."""
    together = " ".join([*before, block.label])
    for label, space, inside in (
        (together, width, True),
        (together, room, False),
        (block.short, width, True),
        (block.short, room, False),
    ):
        if label and len(label) * LETTER + 8 <= space:
            return label, inside
    return "", True
