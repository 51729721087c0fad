"""Time axes: a lane each for the bench, every kiln, every casting machine and everybody in the shop.

Lengths here are units of the drawing, which is as wide as the page: time with nobody in the shop is
drawn narrower, so that a week is seen at once. Words with a unit are left to the template, which knows
the units that the user chose; labels are ids, counts and clock times.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta
from textwrap import wrap

from domain.planning.clock import Minute
from domain.planning.plan import Plan
from domain.planning.problem import Problem
from domain.saying import heard, listed, say
from webapp import formats
from webapp.views.axis_blocks import Block, bench_blocks, kiln_blocks, machine_blocks, person_blocks
from webapp.views.axis_scale import GUTTER, LEAST_DAY, MARGIN, WIDTH, Scale, Tick, scale_of, ticks_of

LANE = 34.0
HEAD = 46.0
LETTER = 7.0
"""How wide a letter of a label is, at most."""


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
    lanes = _lanes(problem, plan, gather=True)
    return _axis(say("The week on a time axis"), problem, scale, lanes, now, hours=6)


def day_axis(problem: Problem, plan: Plan, day: date, now: Minute) -> Axis:
    """One day with every flask of its own, as long as somebody is in the shop or something is done. It
    links to nothing: a glove would hit the wrong block."""
    start, end = _working_span(problem, plan, day)
    scale = scale_of(problem, plan, [*range(start, end, 60), end], least=0.0)
    lanes = _lanes(problem, plan, gather=False)
    plain = [(name, [replace(block, href="") for block in blocks]) for name, blocks in lanes]
    return _axis(say("{day} on a time axis", day=formats.day(day)), problem, scale, plain, now, hours=1)


def _lanes(problem: Problem, plan: Plan, *, gather: bool) -> list[tuple[str, list[Block]]]:
    lanes: list[tuple[str, list[Block]]] = [(say("Bench"), bench_blocks(problem, plan, gather=gather))]
    lanes += [(k.name, kiln_blocks(problem, plan, k.id)) for k in problem.shop.kilns]
    lanes += [(m.name, machine_blocks(problem, plan, m.id, gather=gather)) for m in problem.shop.machines]
    return lanes + [(p.name, person_blocks(problem, plan, p.id, gather=gather)) for p in problem.shop.people]


def days_used(problem: Problem, plan: Plan) -> tuple[date, ...]:
    """The days of the week's axis, each of which can be looked at alone."""
    first, last = used_days(problem, plan)
    return tuple(first + timedelta(days=n) for n in range((last - first).days + 1))


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


def _axis(title: str, problem: Problem, scale: Scale, lanes: list[tuple[str, list[Block]]], now: Minute, *, hours: int) -> Axis:
    placed: list[Lane] = []
    y = HEAD
    for name, blocks in lanes:
        rows = _stacked([b for b in blocks if b.end > scale.start and b.start < scale.end])
        count = 1 + max((b.row for b in rows), default=0)
        placed.append(
            Lane(
                name=name,
                name_lines=tuple(wrap(heard(name), 18, max_lines=2, placeholder="…")),
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
    for block in sorted(blocks, key=lambda b: (b.start, -b.end)):
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
    together = listed([*before, block.label], " ")
    for label, space, inside in (
        (together, width, True),
        (together, room, False),
        (block.short, width, True),
        (block.short, room, False),
    ):
        if label and len(heard(label)) * LETTER + 8 <= space:
            return label, inside
    return "", True
