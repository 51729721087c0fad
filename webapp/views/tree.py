"""Drawings of a tree seen from the side, ring by ring from the button up, and of a kiln's floor."""

from __future__ import annotations

from dataclasses import dataclass

from domain.mould.tree import tree_space
from domain.planning.plan import KilnLoad, PlannedFlask
from domain.planning.problem import PlanJob, Problem
from domain.shop.burnout import Kiln
from domain.shop.flask import FlaskSize
from domain.units import Length

FLASK_HEIGHT = 340.0
LABELS = 120.0
LETTER = 7.5
"""How wide a letter of a label is, at most."""
MARGIN = 14.0
FLOOR_WIDTH = 300.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RingDrawing:
    """``contents``: (job, its name, how many). ``boxes``: pieces left and right of the trunk."""

    number: int
    contents: tuple[tuple[str, str, int], ...]
    height: Length
    by_count: bool
    boxes: tuple[Box, ...]
    label_x: float
    label_y: float

    @property
    def pieces(self) -> int:
        return sum(count for _, _, count in self.contents)


@dataclass(frozen=True, slots=True, kw_only=True)
class TreeDrawing:
    width: float
    height: float
    flask: Box
    base: Box
    trunk: Box
    rings: tuple[RingDrawing, ...]
    free: Length
    """Height of the trunk that is left over."""


def tree_drawing(problem: Problem, flask: PlannedFlask) -> TreeDrawing | None:
    """The tree to scale in its flask, button at the bottom; none where the size is not known any more."""
    size = problem.size.get(flask.size)
    if size is None:
        return None
    scale = FLASK_HEIGHT / size.height.base
    middle = MARGIN + size.inner_diameter.base * scale / 2
    floor = MARGIN + FLASK_HEIGHT
    up = size.base_height.base
    rings: list[RingDrawing] = []
    for number, ring in enumerate(flask.rings, start=1):
        jobs = [(problem.job.get(job), job, count) for job, count in ring.pieces]
        bottom = floor - up * scale
        height = ring.height.base * scale
        contents = tuple((job_id, job.name if job else job_id, count) for job, job_id, count in jobs)
        boxes = _boxes([j for j, _, _ in jobs if j is not None], problem, size, middle, bottom, scale, height)
        rings.append(
            RingDrawing(
                number=number,
                contents=contents,
                height=ring.height,
                by_count=ring.by_count,
                boxes=boxes,
                label_x=round(middle * 2 + 6, 1),
                label_y=round(bottom - height / 2 + 4, 1),
            )
        )
        up += ring.height.base + problem.rules.ring_gap.base
    room = tree_space(size, problem.rules).height
    taken = up - size.base_height.base - (problem.rules.ring_gap.base if rings else 0)
    return TreeDrawing(
        width=round(middle * 2 + _label_room(rings), 1),
        height=FLASK_HEIGHT + 2 * MARGIN,
        flask=_box(MARGIN, MARGIN, size.inner_diameter.base * scale, FLASK_HEIGHT),
        base=_box(MARGIN, floor - size.base_height.base * scale, size.inner_diameter.base * scale, size.base_height.base * scale),
        trunk=_trunk(size, room, middle, floor, scale),
        rings=tuple(rings),
        free=Length(max(0, room.base - taken)),
    )


def _label_room(rings: list[RingDrawing]) -> float:
    """Room beside the flask for “2: 4 × J110, 3 × J111”."""
    letters = max((4 + sum(len(f"{count} × {job}, ") for job, _, count in ring.contents) for ring in rings), default=0)
    return max(LABELS, letters * LETTER)


def _trunk(size: FlaskSize, room: Length, middle: float, floor: float, scale: float) -> Box:
    width = size.trunk_diameter.base * scale
    height = max(0, room.base) * scale
    return _box(middle - width / 2, floor - size.base_height.base * scale - height, width, height)


def _boxes(
    jobs: list[PlanJob], problem: Problem, size: FlaskSize, middle: float, bottom: float, scale: float, room: float
) -> tuple[Box, ...]:
    """The first job's piece to the right of the trunk, the last one's to the left."""
    if not jobs:
        return ()
    root = tree_space(size, problem.rules).root.base * scale
    right, left = jobs[0].size, jobs[-1].size
    high, low = min(right.height.base * scale, room), min(left.height.base * scale, room)
    return (
        _box(middle + root, bottom - high, right.reach.base * scale, high),
        _box(middle - root - left.reach.base * scale, bottom - low, left.reach.base * scale, low),
    )


def _box(x: float, y: float, width: float, height: float) -> Box:
    return Box(x=round(x, 1), y=round(y, 1), width=round(width, 1), height=round(height, 1))


@dataclass(frozen=True, slots=True, kw_only=True)
class FloorFlask:
    flask: str
    x: float
    y: float
    radius: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FloorDrawing:
    """A kiln's floor from above, the door at the bottom."""

    load: str
    kiln: str
    width: float
    height: float
    flasks: tuple[FloorFlask, ...]
    rows: tuple[tuple[str, ...], ...]


def floor_drawing(problem: Problem, load: KilnLoad, flasks: dict[str, PlannedFlask]) -> FloorDrawing | None:
    """Where each flask of a load stands; none where the kiln is not known any more."""
    kiln = problem.kiln.get(load.kiln)
    if kiln is None:
        return None
    scale = FLOOR_WIDTH / kiln.width.base
    depth = kiln.depth.base * scale
    placed: list[FloorFlask] = []
    from_door = kiln.gap.base
    for row in load.rows:
        diameters = [_outer(problem, flasks, flask) for flask in row]
        placed += _row(kiln, row, diameters, from_door, scale, depth)
        from_door += max(diameters, default=0) + kiln.gap.base
    return FloorDrawing(
        load=load.id, kiln=kiln.name, width=FLOOR_WIDTH, height=round(depth, 1), flasks=tuple(placed), rows=load.rows
    )


def _outer(problem: Problem, flasks: dict[str, PlannedFlask], flask: str) -> int:
    size = problem.size.get(flasks[flask].size) if flask in flasks else None
    return size.outer_diameter.base if size else 0


def _row(kiln: Kiln, row: tuple[str, ...], diameters: list[int], from_door: int, scale: float, depth: float) -> list[FloorFlask]:
    placed: list[FloorFlask] = []
    from_left = kiln.gap.base
    for flask, diameter in zip(row, diameters, strict=True):
        radius = diameter / 2
        x = round((from_left + radius) * scale, 1)
        y = round(depth - (from_door + radius) * scale, 1)
        placed.append(FloorFlask(flask=flask, x=x, y=y, radius=round(radius * scale, 1)))
        from_left += diameter + kiln.gap.base
    return placed
