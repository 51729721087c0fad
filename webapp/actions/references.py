"""What names what in the shop: for the choices of forms, for checks, and before something goes out of use."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from domain.shop.alloy import Alloy
from domain.shop.burnout import BurnoutProgram, Kiln
from domain.shop.casting import CastingMachine
from domain.shop.flask import FlaskSize
from domain.shop.investment import InvestmentKind
from domain.shop.jobs import Job
from domain.shop.lots import Lot, Metal, Powder
from domain.shop.pattern import PatternMaterial
from webapp.forms import Choice, Choices
from webapp.store import nouns, plans
from webapp.store.engine import Session

NAMES: dict[type[Any], dict[str, type[Any]]] = {
    Job: {"alloy": Alloy, "material": PatternMaterial, "own_metal": Lot, "per_tree": FlaskSize},
    Metal: {"alloy": Alloy},
    Lot: {"alloy": Alloy, "metal": Metal, "owner_job": Job},
    CastingMachine: {"fits": FlaskSize},
    Powder: {"investment": InvestmentKind},
}
"""By kind, the fields that name another thing, and what they name."""

IN_PLANS = {Kiln: "kiln", BurnoutProgram: "program", CastingMachine: "machine", FlaskSize: "size", InvestmentKind: "investment"}
"""The fields of flasks and kiln loads that name a thing of the shop."""


def choices(session: Session, kind: type[Any]) -> Choices:
    """For the fields of a kind that name something else, what may be named."""
    return {field: tuple(_choice(thing) for thing in _nameable(session, kind, field)) for field in NAMES.get(kind, {})}


def unknown(session: Session, entity: Any) -> dict[str, str]:
    """Messages for fields that name what is not there."""
    wrong: dict[str, str] = {}
    for field in NAMES.get(type(entity), {}):
        there = {thing.id for thing in _nameable(session, type(entity), field)}
        missing = [name for name in _named(entity, field) if name not in there]
        if missing:
            wrong[field] = f"“{missing[0]}” is not one of the list"
    return wrong


def used_by(session: Session, kind: type[Any], key: str) -> list[str]:
    """What names it: open jobs, lots, metals, powders, machines, and the plan that is current."""
    users = [
        _called(thing)
        for other, names in NAMES.items()
        if kind in names.values()
        for thing in nouns.all_of(session, other)
        if any(key in _named(thing, field) for field, named in names.items() if named is kind)
    ]
    return users + _in_plan(session, kind, key)


def _in_plan(session: Session, kind: type[Any], key: str) -> list[str]:
    current = plans.current_plan(session)
    if current is None or kind not in IN_PLANS:
        return []
    parts: list[Any] = [*current.plan.flasks, *current.plan.loads]
    return [f"{part.id} of the current plan" for part in parts if getattr(part, IN_PLANS[kind], None) == key]


def _nameable(session: Session, kind: type[Any], field: str) -> Iterable[Any]:
    things = nouns.all_of(session, NAMES[kind][field])
    if field == "own_metal":
        return tuple(lot for lot in things if lot.owner_job)
    return things


def _named(thing: Any, field: str) -> Iterable[str]:
    value = getattr(thing, field)
    if value is None:
        return ()
    return (value,) if isinstance(value, str) else value


def _choice(thing: Any) -> Choice:
    return (thing.id, f"{thing.id} {thing.item}" if isinstance(thing, Job) else thing.name)


def _called(thing: Any) -> str:
    if isinstance(thing, Job):
        return f"job {thing.id}"
    return f"the powder of {thing.investment}" if isinstance(thing, Powder) else str(thing.name)
