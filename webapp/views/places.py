"""Other places for pieces and other slots for a flask, with what they cost, in words."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from domain.planning.plan import Level, PlannedFlask
from domain.planning.problem import Problem
from domain.saying import say
from domain.week.places import Place
from domain.week.slots import Slot
from webapp.views.week import LEVEL_WORDS


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceLine:
    """One of the best other places. ``to`` and ``load`` as the form sends them, empty for none; ``new``:
    the flask is a new one. ``costs``: levels that change, in words, with whether they get worse."""

    to: str
    load: str
    new: bool
    flask: str
    size: str
    kiln: str
    cast: datetime
    done: date
    costs: tuple[tuple[str, bool], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SlotLine:
    """One of the best other slots for a whole flask. ``load``, ``machine`` and ``minute`` as the form
    sends them."""

    load: str
    machine: str
    minute: int
    kiln: str
    machine_name: str
    invested: datetime
    cast: datetime
    done: date
    costs: tuple[tuple[str, bool], ...]


def slot_lines(problem: Problem, best: tuple[Slot, ...], flask: str) -> tuple[SlotLine, ...]:
    return tuple(_slot_line(problem, slot, placed) for slot in best if (placed := slot.plan.flask(flask)))


def _slot_line(problem: Problem, slot: Slot, flask: PlannedFlask) -> SlotLine:
    load = slot.plan.load(slot.load)
    kiln = problem.kiln.get(load.kiln) if load else None
    return SlotLine(
        load=slot.load,
        machine=slot.machine,
        minute=slot.cast_start,
        kiln=kiln.name if kiln else "",
        machine_name=problem.machine[slot.machine].name,
        invested=problem.clock.local(flask.invest_start),
        cast=problem.clock.local(slot.cast_start),
        done=problem.clock.day_of(flask.knockout_end),
        costs=_costs(slot.cost),
    )


def _costs(levels: tuple[Level, ...]) -> tuple[tuple[str, bool], ...]:
    return tuple((_cost(level), level.value > 0) for level in levels if level.value)


def place_lines(problem: Problem, best: tuple[Place, ...]) -> tuple[PlaceLine, ...]:
    return tuple(_place_line(problem, place) for place in best)


def _place_line(problem: Problem, place: Place) -> PlaceLine:
    flask = place.flask
    load = place.plan.load(flask.load)
    kiln = problem.kiln.get(load.kiln) if load else None
    return PlaceLine(
        to=place.to or "",
        load=place.load or "",
        new=place.to is None,
        flask=flask.id,
        size=problem.size[flask.size].name if flask.size in problem.size else flask.size,
        kiln=kiln.name if kiln else "",
        cast=problem.clock.local(flask.cast_start),
        done=problem.clock.day_of(flask.knockout_end),
        costs=_costs(place.cost),
    )


def _cost(level: Level) -> str:
    name, one, many = LEVEL_WORDS.get(level.name, (level.name, "", ""))
    sign = "+" if level.value > 0 else "\N{MINUS SIGN}"
    value = abs(level.value)
    return say("{level} {change} {unit}", level=name, change=f"{sign}{value}", unit=one if value == 1 else many)
