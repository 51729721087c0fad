"""What one stage asks of one flask: its fields, what each should read, what there is to choose, what to wait for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

from domain.errors import InvalidValue
from domain.floor.asks import ASKS, JUDGED, Asked, Kind, Value
from domain.floor.expect import (
    Expected,
    Wait,
    bench_rest,
    cooling_wait,
    flask_expected,
    judgement_oddities,
    liquid_expected,
    metal_expected,
    mix_oddities,
    powder_expected,
    program_runs,
    range_oddities,
    usual,
)
from domain.floor.stages import Stage
from domain.mould.mix import InvestmentMix
from domain.planning.plan import KilnLoad, PlannedFlask
from domain.planning.problem import Problem
from domain.saying import say
from domain.shop.alloy import Alloy, CoolingMethod
from domain.shop.casting import MachineKind
from domain.shop.flask import FlaskSize
from domain.shop.investment import LIQUIDS, InvestmentKind
from domain.units import TemperatureRange

ELSEWHERE = say("elsewhere")
CAPITAL = {"water": say("Water"), "its own mixing liquid": say("Its own mixing liquid")}


@dataclass(frozen=True, slots=True, kw_only=True)
class FloorFlask:
    """A flask with all that the floor needs of its plan; what the shop does not know any more is none.
    ``allowed``: the flask temperatures that all its pieces share. ``mix``: its tree taken off."""

    planned: PlannedFlask
    load: KilnLoad | None
    kilns: tuple[tuple[str, str], ...]
    alloy: Alloy | None
    size: FlaskSize | None
    investment: InvestmentKind | None
    mix: InvestmentMix | None
    machine: MachineKind | None
    allowed: TemperatureRange | None
    soak_minutes: int

    @property
    def quenches(self) -> bool:
        return self.alloy is None or self.alloy.cooling.method is CoolingMethod.QUENCH


def floor_flask(
    problem: Problem, planned: PlannedFlask, load: KilnLoad | None, mix: InvestmentMix | None, allowed: TemperatureRange | None
) -> FloorFlask:
    melt, machine = problem.melt.get(planned.melt), problem.machine.get(planned.machine)
    return FloorFlask(
        planned=planned,
        load=load,
        kilns=tuple((k.id, k.name) for k in problem.shop.kilns if k.in_service),
        alloy=melt.alloy if melt else None,
        size=problem.size.get(planned.size),
        investment=problem.investment.get(planned.investment),
        mix=mix,
        machine=machine.kind if machine else None,
        allowed=allowed,
        soak_minutes=problem.rules.soak_minutes,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Before:
    """A stage that stands. ``begun``: when it was begun, as written down, else when it was recorded."""

    begun: datetime
    gloss_off: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """``choices``: by field. ``planned``: of these, the one in the plan."""

    stage: Stage
    asks: tuple[Asked, ...]
    expected: Mapping[str, Expected] = field(default_factory=dict)
    choices: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    planned: Mapping[str, str] = field(default_factory=dict)
    wait: Wait | None = None

    def missing(self, values: Mapping[str, Value]) -> dict[str, str]:
        """Messages by field for what must be there and is not."""
        says: dict[Kind, str] = {Kind.YES: say("tick it when it is so"), Kind.CHOICE: say("choose one")}
        errors = {a.name: says.get(a.kind, say("type what was read")) for a in self.asks if a.required and a.name not in values}
        if self.stage is Stage.CAST and not values.keys() & {"metal_temperature", "judgement"}:
            errors["metal_temperature"] = say("read it, or judge the metal by eye below")
        return errors


def work_for(flask: FloorFlask, stage: Stage, before: Mapping[Stage, Before]) -> Work:
    return Work(
        stage=stage,
        asks=_asks(flask, stage),
        expected=_expected(flask, stage),
        choices=_choices(flask, stage),
        planned=_planned(flask, stage),
        wait=wait_before(flask, stage, before),
    )


def _asks(flask: FloorFlask, stage: Stage) -> tuple[Asked, ...]:
    """Turns for a machine with an arm, vacuum for one with a pump, neither where it is not known."""
    by_machine = {"turns": MachineKind.CENTRIFUGE, "vacuum": MachineKind.VACUUM}
    asks = [a for a in ASKS.get(stage, ()) if by_machine.get(a.name, flask.machine) is flask.machine]
    liquid = flask.investment.liquid if flask.investment else "water"
    names = {
        "liquid": CAPITAL.get(liquid, liquid.capitalize()),
        "water_temperature": say("Temperature of the {liquid}", liquid=LIQUIDS.get(liquid, liquid)),
    }
    return tuple(replace(a, label=names.get(a.name, a.label)) for a in asks)


def _expected(flask: FloorFlask, stage: Stage) -> dict[str, Expected]:
    if stage is Stage.INVESTED:
        found = {name: usual(name) for name in ("water_temperature", "vacuum_minutes")}
        if flask.investment is not None and flask.mix is not None:
            found |= {"powder": powder_expected(flask.mix), "liquid": liquid_expected(flask.investment, flask.mix.powder)}
        return found
    if stage is Stage.CAST:
        metal = {"metal_temperature": metal_expected(flask.alloy)} if flask.alloy else {}
        heat = flask_expected(flask.planned.temperature, flask.allowed)
        return {"flask_temperature": heat, "turns": usual("turns"), "vacuum": usual("vacuum")} | metal
    return {}


def _choices(flask: FloorFlask, stage: Stage) -> dict[str, tuple[str, ...]]:
    if stage is Stage.CAST:
        return {"judgement": JUDGED}
    if stage is Stage.LOADED:
        return {"kiln": tuple(name for _, name in flask.kilns), "position": (*positions(flask.load).values(), ELSEWHERE)}
    return {}


def _planned(flask: FloorFlask, stage: Stage) -> dict[str, str]:
    if stage is not Stage.LOADED or flask.load is None:
        return {}
    kiln = dict(flask.kilns).get(flask.load.kiln, "")
    return {"kiln": kiln, "position": positions(flask.load).get(flask.planned.id, "")}


def positions(load: KilnLoad | None) -> dict[str, str]:
    """By flask, its place on the kiln's floor in words; row 1 is at the door."""
    rows = load.rows if load else ()
    return {flask: say("row {r}, place {p}", r=r, p=p) for r, row in enumerate(rows, 1) for p, flask in enumerate(row, 1)}


def wait_before(flask: FloorFlask, stage: Stage, before: Mapping[Stage, Before]) -> Wait | None:
    """What must be over before a stage; none where nothing is known to wait for."""
    if stage is Stage.LOADED and Stage.INVESTED in before and flask.investment is not None:
        invested = before[Stage.INVESTED]
        return bench_rest(flask.investment, invested.begun, invested.gloss_off)
    if stage is Stage.CAST and Stage.STARTED in before and flask.load is not None:
        minutes = flask.load.program_end - flask.load.start + flask.soak_minutes
        return program_runs(before[Stage.STARTED].begun, minutes)
    known = flask.alloy is not None and flask.size is not None and Stage.CAST in before
    if stage in (Stage.QUENCHED, Stage.KNOCKED_OUT) and known and not (stage is Stage.KNOCKED_OUT and Stage.QUENCHED in before):
        assert flask.alloy is not None
        assert flask.size is not None
        return cooling_wait(flask.alloy, flask.size, before[Stage.CAST].begun)
    return None


def oddities(
    flask: FloorFlask, work: Work, before: Mapping[Stage, Before], values: Mapping[str, Value], at: datetime
) -> tuple[tuple[str, str], ...]:
    """What is odd about doing this now with these readings, by field: to be asked about, never refused."""
    begun = values.get("started")
    found = [*range_oddities(_without_mix(work.expected), values), *judgement_oddities(values)]
    if work.stage is Stage.INVESTED and flask.investment is not None:
        found += mix_oddities(flask.investment, flask.mix, values)
    early = work.wait.too_early(begun if isinstance(begun, datetime) else at) if work.wait else ""
    found += [("", early)] if early else []
    found += [
        (name, say("the plan has {name} “{text}”", name=name, text=text))
        for name, text in work.planned.items()
        if text and values.get(name) != text
    ]
    if work.stage is Stage.KNOCKED_OUT and flask.quenches and Stage.QUENCHED not in before:
        found.append(("", say("no quench is written down for this flask")))
    return tuple(found)


def _without_mix(expected: Mapping[str, Expected]) -> dict[str, Expected]:
    """Powder and water are held against each other instead."""
    return {name: one for name, one in expected.items() if name not in ("powder", "liquid")}


def read_moment(name: str, text: str, now: datetime) -> datetime:
    """A time of day such as 10:42, 1042 or 10:42 pm, today, or yesterday where that is nearer; ``now`` with its zone.
    Raises ``InvalidValue`` for one that is still to come."""
    clean, half = _half_of_day(text)
    digits = clean.replace(".", ":").replace("h", ":")
    hours, _, minutes = (digits if ":" in digits else f"{digits[:-2]}:{digits[-2:]}").partition(":")
    if not (hours.isascii() and hours.isdecimal() and minutes.isascii() and minutes.isdecimal()):
        raise InvalidValue(name, say("“{strip}” is not a time; type one such as 10:42", strip=text.strip()))
    if half and 1 <= int(hours) <= 12:
        hours = f"{int(hours) % 12 + (12 if half == 'pm' else 0):02d}"
    elif half:
        raise InvalidValue(name, say("“{strip}” is not a time of day; type one such as 10:42 pm", strip=text.strip()))
    if int(hours) > 23 or int(minutes) > 59:
        raise InvalidValue(name, say("“{strip}” is not a time of day; type one such as 10:42", strip=text.strip()))
    moment = now.replace(hour=int(hours), minute=int(minutes), second=0, microsecond=0)
    if moment <= now + timedelta(minutes=1):
        return moment
    if moment - now > timedelta(hours=12):
        return moment - timedelta(days=1)
    raise InvalidValue(
        name, say("{hours}:{minutes} is still to come; write it down when it has happened", hours=hours, minutes=minutes)
    )


def _half_of_day(text: str) -> tuple[str, str]:
    """``10:42 pm`` → ``10:42`` and ``pm``; ``10 pm`` is at the full hour."""
    clean = text.strip().casefold()
    half = next((half for half in ("am", "pm") if clean.endswith(half)), "")
    bare = clean.removesuffix(half).strip() if half else clean
    return (f"{bare}:00" if half and len(bare) < 3 else bare), half


def not_looked_at(held: Mapping[str, int], seen: Iterable[Mapping[str, int]]) -> dict[str, int]:
    """Pieces by job that nobody has looked at yet."""
    left = dict(held)
    for pieces in seen:
        for job, count in pieces.items():
            left[job] = left.get(job, 0) - count
    return {job: count for job, count in left.items() if count > 0}
