"""A burnout program as a curve over the clock, from kiln start to the last flask of the load."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from domain.mould.program import CastAt, load_curve
from domain.planning.clock import Clock, Minute
from domain.planning.plan import KilnLoad, PlannedFlask
from domain.saying import say
from domain.shop.burnout import BurnoutProgram, Purpose
from domain.shop.shop import ShopRules
from domain.units import Temperature

WIDTH, HEIGHT = 720.0, 300.0
LEFT, RIGHT, TOP, BOTTOM = 64.0, 20.0, 24.0, 44.0
PURPOSES = {
    Purpose.DEWAX: say("dewax"),
    Purpose.BURN: say("burn"),
    Purpose.CURE: say("cure"),
    Purpose.COOL: say("cool to flask temperature"),
}


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


@dataclass(frozen=True, slots=True)
class _Frame:
    """From the clock and the kiln to the drawing."""

    start: Minute
    end: Minute
    low: Temperature
    top: Temperature

    def x(self, minute: Minute) -> float:
        return round(LEFT + (minute - self.start) / (self.end - self.start) * (WIDTH - LEFT - RIGHT), 1)

    def y(self, temperature: Temperature) -> float:
        rise = max(1, self.top.millidegrees - self.low.millidegrees)
        share = (temperature.millidegrees - self.low.millidegrees) / rise
        return round(HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM), 1)


def program_drawing(program: BurnoutProgram, load: KilnLoad, flasks: list[PlannedFlask], rules: ShopRules, clock: Clock) -> Curve:
    """The program, then the soaks and steps down until the last flask of the load is cast."""
    pieces = _pieces(program, load, flasks, rules)
    frame = _Frame(
        start=load.start,
        end=max([load.start + 60, *(p.end for p in pieces)]),
        low=min((p.begin for p in pieces), default=Temperature.c(20)),
        top=max((p.to for p in pieces), default=Temperature.c(20)),
    )
    corners = [corner for p in pieces for corner in ((frame.x(p.start), frame.y(p.begin)), (frame.x(p.end), frame.y(p.to)))]
    held = dict.fromkeys(p.to for p in pieces if p.begin == p.to)
    return Curve(
        width=WIDTH,
        height=HEIGHT,
        left=LEFT,
        right=WIDTH - RIGHT,
        base=HEIGHT - BOTTOM,
        points=" ".join(f"{x},{y}" for x, y in corners),
        steps=tuple(_step(p, clock, frame) for p in pieces),
        levels=tuple(Mark(at=frame.y(t), temperature=t) for t in _apart(held, frame)),
        times=tuple(Mark(at=frame.x(m), time=clock.local(m)) for m in _hours(frame.start, frame.end, clock)),
        casts=tuple((f.id, frame.x(f.cast_start), frame.y(f.temperature)) for f in flasks),
    )


def _pieces(program: BurnoutProgram, load: KilnLoad, flasks: list[PlannedFlask], rules: ShopRules) -> list[_Piece]:
    casts = [CastAt(f.cast_start - load.start, f.temperature) for f in flasks]
    points = load_curve(program, casts, rules.soak_minutes, rules.step_soak_minutes)
    joined = [(a, b) for a, b in pairwise(points) if b.minute > a.minute]
    return [
        _Piece(
            _name(program, a.minute, a.temperature == b.temperature),
            load.start + a.minute,
            load.start + b.minute,
            a.temperature,
            b.temperature,
        )
        for a, b in joined
    ]


def _name(program: BurnoutProgram, minute: int, hold: bool) -> str:
    """What happens from ``minute`` after kiln start."""
    end = 0
    for number, segment in enumerate(program.segments, start=1):
        end += segment.ramp_minutes + segment.hold_minutes
        if minute < end:
            purpose = PURPOSES[segment.purpose]
            if hold:
                return say("{number}. {purpose}, hold", number=number, purpose=purpose)
            return say("{number}. {purpose}, ramp", number=number, purpose=purpose)
    return say("soak at flask temperature") if hold else say("to flask temperature")


def _apart(temperatures: dict[Temperature, None], frame: _Frame) -> list[Temperature]:
    """The temperatures whose labels do not run into one another, the hottest first."""
    shown: list[Temperature] = []
    for temperature in sorted(temperatures, reverse=True):
        if all(abs(frame.y(temperature) - frame.y(other)) >= 14 for other in shown):
            shown.append(temperature)
    return shown


def _step(piece: _Piece, clock: Clock, frame: _Frame) -> CurveStep:
    hold = piece.begin == piece.to
    x, end = frame.x(piece.start), frame.x(piece.end)
    return CurveStep(
        what=piece.what,
        begins=clock.local(piece.start),
        ends=clock.local(piece.end),
        minutes=piece.end - piece.start,
        temperature=piece.to,
        label_x=round((x + end) / 2, 1),
        label_y=round(frame.y(piece.to) - 7, 1),
        hold=hold,
        shown=hold and end - x >= 50,
    )


def _hours(start: Minute, end: Minute, clock: Clock) -> list[Minute]:
    """Full hours of the shop's clock, few enough to be read."""
    step = next((h for h in (1, 2, 3, 4, 6, 12) if (end - start) / 60 / h <= 9), 24)
    first = start + (-clock.local(start).minute) % 60
    return [m for m in range(first, end + 1, 60) if clock.local(m).hour % step == 0]
