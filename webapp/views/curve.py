"""A burnout program as a curve over the clock, from kiln start to the last flask of the load."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from domain.mould.burnout import BurnoutProgram
from domain.planning.clock import Clock, Minute
from domain.planning.plan import KilnLoad, PlannedFlask
from domain.units import Temperature

WIDTH, HEIGHT = 720.0, 300.0
LEFT, RIGHT, TOP, BOTTOM = 64.0, 20.0, 24.0, 44.0
ROOM = Temperature.c(20)
"""Where the curve starts, common practice, no source: the kiln is at room temperature."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CurveStep:
    """One straight piece: ``what`` it is for, when it ends on the clock, at what temperature."""

    what: str
    begins: datetime
    ends: datetime
    minutes: int
    temperature: Temperature
    label_x: float
    label_y: float
    hold: bool
    shown: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A line of the scale: across for a temperature, up for a clock time."""

    at: float
    temperature: Temperature | None = None
    time: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """``points``: what an SVG polyline takes. ``casts``: where a flask is poured."""

    width: float
    height: float
    left: float
    right: float
    base: float
    points: str
    steps: tuple[CurveStep, ...]
    levels: tuple[Mark, ...]
    times: tuple[Mark, ...]
    casts: tuple[tuple[str, float, float], ...]


@dataclass(frozen=True, slots=True)
class _Piece:
    what: str
    start: Minute
    end: Minute
    begin: Temperature
    to: Temperature


def program_curve(program: BurnoutProgram, load: KilnLoad, flasks: list[PlannedFlask], clock: Clock) -> Curve:
    """Program, then the steps down to each flask temperature. ``flasks``: those of the load."""
    pieces = _pieces(program, load, sorted(flasks, key=lambda f: f.cast_start))
    start, end = load.start, max(pieces[-1].end, load.start + 60)
    top = max(p.to for p in pieces)

    def x(minute: Minute) -> float:
        return round(LEFT + (minute - start) / (end - start) * (WIDTH - LEFT - RIGHT), 1)

    def y(temperature: Temperature) -> float:
        share = float(temperature.above(ROOM) / max(1, top.above(ROOM)))
        return round(HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM), 1)

    corners = [(x(start), y(pieces[0].begin))] + [(x(p.end), y(p.to)) for p in pieces]
    return Curve(
        width=WIDTH,
        height=HEIGHT,
        left=LEFT,
        right=WIDTH - RIGHT,
        base=HEIGHT - BOTTOM,
        points=" ".join(f"{a},{b}" for a, b in corners),
        steps=tuple(_step(p, clock, (x(p.start) + x(p.end)) / 2, y(p.to), x(p.end) - x(p.start)) for p in pieces),
        levels=tuple(Mark(at=y(t), temperature=t) for t in dict.fromkeys(p.to for p in pieces if p.begin == p.to)),
        times=tuple(Mark(at=x(m), time=clock.local(m)) for m in _hours(start, end, clock)),
        casts=tuple((f.id, x(f.cast_start), y(f.temperature)) for f in flasks),
    )


def _pieces(program: BurnoutProgram, load: KilnLoad, flasks: list[PlannedFlask]) -> list[_Piece]:
    at, minute = ROOM, load.start
    pieces: list[_Piece] = []
    for number, segment in enumerate(program.segments, start=1):
        for minutes, word, target in (
            (segment.ramp_minutes, "ramp", segment.target),
            (segment.hold_minutes, "hold", segment.target),
        ):
            if minutes:
                pieces.append(_Piece(f"{number}. {segment.purpose}, {word}", minute, minute + minutes, at, target))
            at, minute = target, minute + minutes
    return pieces + _steps_down(at, max(minute, load.program_end), flasks)


def _steps_down(at: Temperature, minute: Minute, flasks: list[PlannedFlask]) -> list[_Piece]:
    """Down to each flask temperature and held there until its last pour. How fast the kiln falls is
    its own affair: the line is drawn over the first quarter of the time that there is."""
    pieces: list[_Piece] = []
    for temperature in dict.fromkeys(f.temperature for f in flasks):
        last = max(f.cast_start for f in flasks if f.temperature == temperature)
        if last <= minute:
            continue
        fall = minute + (min(f.cast_start for f in flasks if f.temperature == temperature) - minute) // 4
        if temperature != at and fall > minute:
            pieces.append(_Piece("down to flask temperature", minute, fall, at, temperature))
            minute = fall
        pieces.append(_Piece("soak at flask temperature", minute, last, temperature, temperature))
        at, minute = temperature, last
    return pieces


def _step(piece: _Piece, clock: Clock, x: float, y: float, room: float) -> CurveStep:
    hold = piece.begin == piece.to
    return CurveStep(
        what=piece.what,
        begins=clock.local(piece.start),
        ends=clock.local(piece.end),
        minutes=piece.end - piece.start,
        temperature=piece.to,
        label_x=round(x, 1),
        label_y=round(y - 7, 1),
        hold=hold,
        shown=hold and room >= 50,
    )


def _hours(start: Minute, end: Minute, clock: Clock) -> list[Minute]:
    """Full hours of the shop's clock, few enough to be read."""
    step = next((h for h in (1, 2, 3, 4, 6, 12) if (end - start) / 60 / h <= 9), 24)
    first = start + (-clock.local(start).minute) % 60
    return [m for m in range(first, end + 1, 60) if clock.local(m).hour % step == 0]
