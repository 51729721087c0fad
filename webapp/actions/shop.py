"""Editing what the shop owns and knows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from domain.casting import CastingMachine
from domain.errors import InvalidValue
from domain.intake.typed import read_mass
from domain.jobs import Job
from domain.metallurgy.alloy import Alloy
from domain.mould.burnout import BurnoutProgram, Kiln
from domain.mould.flask import FlaskSize
from domain.mould.investment import InvestmentKind
from domain.mould.pattern import PatternMaterial
from domain.sources import Mark, Source
from domain.stock.lots import Lot, Metal, Powder
from domain.units import Mass
from webapp.actions import saving
from webapp.actions.saving import Saved
from webapp.exchange.document import Document
from webapp.forms import Choices, read_form
from webapp.store import nouns, plans, stock
from webapp.store.engine import Session
from webapp.store.nouns import Stored
from webapp.store.stock import MovementKind

OWN = Source(Mark.SHOP)
UNSOURCED = frozenset({"id", "name", "sources"})


def choices(session: Session) -> Choices:
    """For fields that name something else of the shop, what may be named."""

    def of(kind: type[Any]) -> tuple[tuple[str, str], ...]:
        return tuple((thing.id, thing.name) for thing in nouns.all_of(session, kind))

    sizes = of(FlaskSize)
    return {
        "alloy": of(Alloy),
        "material": of(PatternMaterial),
        "own_metal": of(Lot),
        "per_tree": sizes,
        "fits": sizes,
        "metal": of(Metal),
        "investment": of(InvestmentKind),
        "owner_job": tuple((job.id, f"{job.id} {job.item}") for job in nouns.all_of(session, Job)),
    }


def add(session: Session, kind: type[Any], document: type[Document[Any]], typed: Mapping[str, str]) -> Saved:
    """Add one; its key is made from its name, and its numbers are the shop's own."""
    key = saving.key_from(typed.get("name", ""), lambda k: nouns.find(session, kind, k) is not None)
    sources = {f.name: OWN for f in fields(kind) if f.name not in UNSOURCED}
    read = read_form(document, typed, {"id": key, "sources": sources})
    if read.errors:
        return Saved(errors=read.errors)
    return saving.add(session, read.value, key)


def change(
    session: Session,
    stored: Stored,
    document: type[Document[Any]],
    typed: Mapping[str, str],
    version: int,
    keeps: frozenset[str] = frozenset(),
) -> Saved:
    """Save an edit. A number that was changed is from now on the shop's own."""
    kept = {name: getattr(stored.value, name) for name in keeps}
    extra = {"id": stored.key, "sources": getattr(stored.value, "sources", {}), **kept}
    read = read_form(document, typed, extra)
    if read.errors:
        return Saved(stored.key, read.errors)
    return saving.change(session, stored.key, _marked(stored.value, read.value), version)


def _marked(old: Any, new: Any) -> Any:
    if not hasattr(new, "sources"):
        return new
    names = (f.name for f in fields(new) if f.name not in UNSOURCED)
    changed = {name: OWN for name in names if getattr(old, name) != getattr(new, name)}
    values = {f.name: getattr(new, f.name) for f in fields(new)}
    return type(new)(**{**values, "sources": {**old.sources, **changed}})


def archive(session: Session, kind: type[Any], key: str) -> None:
    """Take it out of use. Raises ``InvalidValue`` while something still needs it."""
    users = used_by(session, kind, key)
    if users:
        raise InvalidValue("", f"still needed by {', '.join(users[:8])}{' and others' if len(users) > 8 else ''}")
    nouns.archive(session, kind, key)


def used_by(session: Session, kind: type[Any], key: str) -> list[str]:
    """What names it: open jobs, lots, metals, machines, and the plan that is current."""
    users = [f"job {job.id}" for job in nouns.all_of(session, Job) if _names(job, kind, key)]
    for other in (Lot, Metal, CastingMachine, Powder):
        users += [_called(thing) for thing in nouns.all_of(session, other) if _names(thing, kind, key)]
    current = plans.current_plan(session)
    if current is not None:
        field = {
            Kiln: "kiln",
            BurnoutProgram: "program",
            CastingMachine: "machine",
            FlaskSize: "size",
            InvestmentKind: "investment",
        }.get(kind)
        named: list[Any] = [*current.plan.flasks, *current.plan.loads] if field else []
        users += [f"{thing.id} of the current plan" for thing in named if getattr(thing, field or "", None) == key]
    return users


NAMING: dict[type[Any], tuple[str, ...]] = {
    Alloy: ("alloy",),
    PatternMaterial: ("material",),
    FlaskSize: ("per_tree", "fits"),
    InvestmentKind: ("investment",),
    Metal: ("metal",),
    Lot: ("own_metal",),
}
"""The fields by which other things name one of a kind."""


def _names(thing: Any, kind: type[Any], key: str) -> bool:
    for field in NAMING.get(kind, ()):
        named = getattr(thing, field, None)
        if named == key or (not isinstance(named, str) and named is not None and key in named):
            return True
    return False


def _called(thing: Any) -> str:
    return str(getattr(thing, "name", "") or f"the powder of {thing.investment}")


def move_stock(session: Session, kind: type[Any], key: str, typed: Mapping[str, str]) -> Saved:
    """Receive, issue, take back or count metal or powder."""
    try:
        mass = read_mass(typed.get("mass", ""), "g", "mass")
        movement = MovementKind(typed.get("kind", ""))
        _moved(session, kind, key, movement, mass, typed)
    except InvalidValue as error:
        return Saved(key, {"mass": str(error)})
    except ValueError:
        return Saved(key, {"kind": "choose what happened"})
    return Saved(key)


def _moved(session: Session, kind: type[Any], key: str, movement: MovementKind, mass: Mass, typed: Mapping[str, str]) -> None:
    note = typed.get("note", "")
    if movement is MovementKind.COUNT:
        (stock.count_lot if kind is Lot else stock.count_powder)(session, key, mass, note)
        return
    signed = -mass if movement is MovementKind.ISSUE else mass
    move = stock.move_lot if kind is Lot else stock.move_powder
    move(session, key, movement, signed, note=note, key=typed.get("key") or None)
