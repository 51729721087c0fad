"""What a flask's cautions depend on, and when a caution applies."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from string import Formatter
from typing import Any

from domain.mould.tree import cylinder
from domain.saying import Saying, listed, say
from domain.shop.alloy import Alloy, Bond, CoolingMethod, CoolingRule, Heat, Suitability
from domain.shop.casting import CastingMachine, MachineKind
from domain.shop.flask import FlaskSize
from domain.shop.investment import BONDS, LIQUIDS, InvestmentKind
from domain.shop.pattern import PatternMaterial
from domain.units import Mass, Temperature, TemperatureRange, Volume

LARGE = Volume.of(1, "l")
"""A flask that holds this much weighs some two kilograms hot and wants two hands or two people; common
practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FlaskContext:
    """Everything about one flask that its checklists and cautions ask for. ``people``: at the machine.
    ``flask_range``: the mould temperatures that all its pieces bear, where they are known."""

    alloy: str
    alloy_cautions: frozenset[str]
    heat: Heat
    machine: MachineKind
    fume: bool
    bond: Bond
    advised_against: bool
    liquid: str
    size: str
    large: bool
    people: int
    pour: TemperatureRange
    flask_temperature: Temperature
    charge: Mass
    powder: Mass
    cooling: CoolingRule
    flask_range: TemperatureRange | None = None


def flask_context(
    alloy: Alloy,
    machine: CastingMachine,
    size: FlaskSize,
    investment: InvestmentKind,
    materials: Sequence[PatternMaterial],
    *,
    people: int,
    flask_temperature: Temperature,
    charge: Mass,
    powder: Mass,
    flask_range: TemperatureRange | None = None,
) -> FlaskContext:
    """The context of a planned flask; ``materials`` of all its patterns."""
    return FlaskContext(
        alloy=alloy.name,
        alloy_cautions=frozenset(alloy.cautions),
        heat=machine.heat,
        machine=machine.kind,
        fume=any(m.fume for m in materials),
        bond=investment.bond,
        advised_against=alloy.investment.get(investment.bond) is Suitability.WARN,
        liquid=investment.liquid,
        size=size.name,
        large=cylinder(size.inner_diameter, size.height) >= LARGE,
        people=people,
        pour=alloy.pour,
        flask_temperature=flask_temperature,
        charge=charge,
        powder=powder,
        cooling=alloy.cooling,
        flask_range=flask_range,
    )


CONDITIONS = ("heat", "machine", "bond", "fume", "large", "alone", "cooling", "window", "advised_against", "caution", "without")
"""Columns of the tables that say when a row applies; a column that is left out always applies."""


def applies(row: Mapping[str, Any], context: FlaskContext) -> bool:
    """Whether every condition of a row holds for the flask."""
    if row.get("caution") not in (None, *context.alloy_cautions):
        return False
    if row.get("without") in context.alloy_cautions:
        return False
    facts = _facts(context)
    return all(row[name] == facts[name] for name in facts if name in row)


def _facts(context: FlaskContext) -> dict[str, object]:
    cooling = context.cooling
    windowed = cooling.not_above is not None or cooling.not_below is not None
    return {
        "heat": context.heat.value,
        "machine": context.machine.value,
        "bond": context.bond.value,
        "fume": context.fume,
        "large": context.large,
        "alone": context.people == 1,
        "cooling": cooling.method.value,
        "advised_against": context.advised_against,
        "window": windowed and cooling.method is CoolingMethod.QUENCH,
    }


def filled_in(text: str, context: FlaskContext) -> Saying:
    """The text with the flask's own words in its blanks."""
    return with_values(
        text,
        {
            "alloy": context.alloy,
            "size": context.size,
            "liquid": LIQUIDS.get(context.liquid, context.liquid),
            "bond": BONDS[context.bond],
            "wait": context.cooling.wait_minutes,
            "people": context.people,
        },
    )


def with_values(text: str, values: Mapping[str, object]) -> Saying:
    """A starting text is heard in the reader's language; of what the shop typed only the values are."""
    if isinstance(text, Saying):
        return say(text.pattern, **values)
    parsed = Formatter().parse(text)
    return listed([part for words, name, _, _ in parsed for part in (words, "" if name is None else values[name])], joint="")
