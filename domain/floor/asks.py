"""What each stage asks of whoever does it, and how an answer becomes a value and a text of the record."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import TypeAlias

from domain.errors import InvalidValue
from domain.floor.stages import Stage
from domain.intake.typed import METRIC, Usual, read_count, read_mass, read_pressure, read_temperature
from domain.saying import say
from domain.units import Mass, Pressure, Temperature

Value: TypeAlias = Mass | Temperature | Pressure | int | datetime | str


class Kind(StrEnum):
    MASS = "mass"
    TEMPERATURE = "temperature"
    PRESSURE = "pressure"
    MINUTES = "minutes"
    COUNT = "count"
    MOMENT = "moment"
    CHOICE = "choice"
    YES = "yes"


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One field of a stage. ``required``: nothing is recorded without it; a moment that is left empty is now.
    ``says``: a hint, or what is confirmed with a yes."""

    name: str
    label: str
    kind: Kind
    required: bool = True
    says: str = ""


STARTED = Asked(name="started", label=say("Begun at"), kind=Kind.MOMENT, required=False, says=say("empty: now"))

ASKS: dict[Stage, tuple[Asked, ...]] = {
    Stage.INVESTED: (
        Asked(name="powder", label=say("Powder"), kind=Kind.MASS),
        Asked(name="liquid", label=say("Water"), kind=Kind.MASS),
        Asked(name="water_temperature", label=say("Temperature of the water"), kind=Kind.TEMPERATURE),
        Asked(name="started", label=say("Powder into the water at"), kind=Kind.MOMENT, required=False, says=say("empty: now")),
        Asked(name="vacuum_minutes", label=say("Under vacuum for"), kind=Kind.MINUTES),
        Asked(
            name="gloss_off", label=say("Gloss-off at"), kind=Kind.MOMENT, required=False, says=say("empty: counted from the start")
        ),
    ),
    Stage.LOADED: (
        Asked(name="kiln", label=say("Kiln"), kind=Kind.CHOICE),
        Asked(name="position", label=say("Place on its floor"), kind=Kind.CHOICE),
    ),
    Stage.STARTED: (
        STARTED,
        Asked(
            name="ventilation",
            label=say("Ventilation"),
            kind=Kind.YES,
            says=say("The ventilation is on, and stays on until the last flask is cold."),
        ),
    ),
    Stage.CAST: (
        Asked(name="flask_temperature", label=say("Temperature of the flask, read"), kind=Kind.TEMPERATURE),
        Asked(name="metal_temperature", label=say("Temperature of the metal"), kind=Kind.TEMPERATURE, required=False),
        Asked(name="judgement", label=say("or the metal, judged by eye"), kind=Kind.CHOICE, required=False),
        Asked(name="turns", label=say("Turns of the arm"), kind=Kind.COUNT),
        Asked(name="vacuum", label=say("Vacuum reached, below the air's pressure"), kind=Kind.PRESSURE),
        Asked(name="started", label=say("Poured at"), kind=Kind.MOMENT, required=False, says=say("empty: now")),
    ),
    Stage.QUENCHED: (
        Asked(
            name="no_glow",
            label=say("Looked at in the shade"),
            kind=Kind.YES,
            says=say("Button and flask do not glow in the shade."),
        ),
        STARTED,
    ),
    Stage.KNOCKED_OUT: (STARTED,),
}
"""The fields of each stage, in the order of doing. Pieces are looked at on a page of their own."""

JUDGED = (say("still and mirror-bright, flows freely"), say("skin on it, only just flowing"), say("smoking or boiling, too hot"))
"""Words for metal that nobody can measure. Common practice, no source."""
TOO_HOT, TOO_COLD = JUDGED[2], JUDGED[1]


def read(asked: Asked, text: str, usual: Usual = METRIC, choices: tuple[str, ...] = ()) -> Value:
    """What somebody typed, in whatever unit; ``usual`` is that of a bare number. A moment is read where the
    day is known. Raises ``InvalidValue`` with what to type instead."""
    if asked.kind is Kind.MASS:
        return _weighed(asked, read_mass(text, usual.mass, asked.name, usual.numbers))
    if asked.kind is Kind.TEMPERATURE:
        return read_temperature(text, usual.degrees, asked.name, usual.numbers)
    if asked.kind is Kind.PRESSURE:
        return read_pressure(text, "mbar", asked.name, usual.numbers)
    if asked.kind is Kind.YES:
        return "yes"
    if asked.kind is Kind.CHOICE:
        return _chosen(asked, text, choices)
    bare = text.strip().removesuffix("min").removesuffix("turns").removesuffix("turn").strip()
    return read_count(bare, asked.name, least=0 if asked.kind is Kind.MINUTES else 1, choices=usual.numbers)


def _weighed(asked: Asked, mass: Mass) -> Mass:
    if not mass.base:
        raise InvalidValue(asked.name, say("type what was weighed, such as 1200 g"))
    return mass


def _chosen(asked: Asked, text: str, choices: tuple[str, ...]) -> str:
    if text not in choices:
        raise InvalidValue(asked.name, say("“{text}” is not one of the choices; choose from the list", text=text))
    return text


def written(value: Value) -> str:
    """The value as the record keeps it: exact, with its unit, and the same for every reader. A moment in UTC."""
    if isinstance(value, Mass):
        return f"{value.decimal('g', 3).normalize():f} g"
    if isinstance(value, Temperature):
        return f"{value.celsius(3).normalize():f} °C"
    if isinstance(value, Pressure):
        return f"{value.decimal('mbar', 2).normalize():f} mbar"
    if isinstance(value, datetime):
        return value.isoformat(timespec="seconds")
    return str(value)


def kept(asked: Asked, text: str) -> Value:
    """A value of the record, read again: ``kept(asked, written(value)) == value``."""
    if asked.kind is Kind.MOMENT:
        return datetime.fromisoformat(text)
    if asked.kind is Kind.CHOICE:
        return text
    return read(asked, text)
