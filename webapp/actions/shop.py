"""Editing what the shop owns and knows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from domain.books.accounts import COUNT_REASONS, Reason
from domain.errors import InvalidValue
from domain.saying import listed, say
from domain.shop.consumables import Consumable
from domain.shop.lots import Lot
from domain.sources import Mark, Source
from webapp import reading
from webapp.actions import saving, supplies
from webapp.actions.references import used_by
from webapp.actions.saving import Saved
from webapp.exchange.document import Document
from webapp.forms import read_form, typed_from, untouched
from webapp.store import nouns, stock
from webapp.store.engine import Session
from webapp.store.nouns import Stored
from webapp.store.stock import Happening

OWN = Source(Mark.SHOP)
UNSOURCED = frozenset({"id", "name", "sources"})


def add(session: Session, kind: type[Any], document: type[Document[Any]], typed: Mapping[str, str]) -> Saved:
    """Add one; its key is made from its name, and its numbers are the shop's own."""
    key = saving.key_from(typed.get("name", ""), lambda k: nouns.find(session, kind, k) is not None)
    sources = {f.name: OWN for f in fields(kind) if f.name not in UNSOURCED}
    read = read_form(document, typed, {"id": key, "sources": sources})
    if read.errors:
        return Saved(errors=read.errors)
    return saving.add(session, read.value, key)


def put_in(session: Session, entity: Any) -> Saved:
    """Add one under its own key. Numbers that come without a source are the shop's own."""
    if hasattr(entity, "sources"):
        names = (f.name for f in fields(entity) if f.name not in UNSOURCED)
        entity = _with(entity, sources=dict.fromkeys(names, OWN) | dict(entity.sources))
    return saving.add(session, entity, getattr(entity, "id", ""))


def save(session: Session, stored: Stored, entity: Any, version: int, keeps: frozenset[str]) -> Saved:
    """What was read as ``version`` becomes ``entity``. What has a ledger is changed by what happens to it, not here."""
    moved = [name for name in keeps if getattr(entity, name) != getattr(stored.value, name)]
    if moved and version == stored.version:
        return Saved(stored.key, {moved[0]: say("is kept by its ledger; write down what happened as a movement")})
    if getattr(entity, "id", stored.key) != stored.key:
        return Saved(stored.key, {"id": say("cannot change; it is {key}", key=stored.key)})
    return saving.change(session, stored.key, _marked(stored.value, entity), version)


def change(
    session: Session,
    stored: Stored,
    document: type[Document[Any]],
    typed: Mapping[str, str],
    version: int,
    keeps: frozenset[str] = frozenset(),
) -> Saved:
    """Save an edit. A number that was changed is from now on the shop's own. A version that is newer only by what moved
    in stock is no reason to refuse: the form shows nothing of it, and keeps it."""
    if version < stored.version and untouched(typed, typed_from(document, stored.value), keeps):
        version = stored.version
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
    return _with(new, sources={**old.sources, **changed})


def _with(entity: Any, **changes: Any) -> Any:
    return type(entity)(**{f.name: getattr(entity, f.name) for f in fields(entity)} | changes)


def archive(session: Session, kind: type[Any], key: str) -> None:
    """Take it out of use. Raises ``InvalidValue`` while something still needs it."""
    users = used_by(session, kind, key)
    if users:
        raise InvalidValue(
            "",
            say("still needed by {users} and others", users=listed(users[:8]))
            if len(users) > 8
            else say("still needed by {users}", users=listed(users)),
        )
    nouns.archive(session, kind, key)


def restore(session: Session, kind: type[Any], key: str) -> None:
    """Bring it back into use."""
    nouns.restore(session, kind, key)


def move_stock(session: Session, kind: type[Any], key: str, typed: Mapping[str, str]) -> Saved:
    """Receive, take out, take back, count, give back or put to the refiner's: metal or powder."""
    try:
        happening = Happening(typed.get("kind", ""))
    except ValueError:
        return Saved(key, {"kind": say("choose what happened")})
    try:
        reason = _reason(typed) if happening is Happening.COUNT else Reason.OTHER
        if kind is Consumable:
            supplies.change_consumable(session, key, happening, typed, reason)
            return Saved(key)
        mass = (reading.mass if kind is Lot else reading.bulk)(typed.get("mass", ""))
        write = stock.change_lot if kind is Lot else stock.change_powder
        write(session, key, happening, mass, reason=reason, note=typed.get("note", ""), key=typed.get("key") or None)
    except InvalidValue as error:
        return Saved(key, {error.field if error.field in ("kind", "reason") else "mass": str(error)})
    return Saved(key)


def _reason(typed: Mapping[str, str]) -> Reason:
    """Why a count differs, one of the list; other wants words."""
    chosen = next((reason for reason in COUNT_REASONS if reason == typed.get("reason", Reason.WEIGHING)), None)
    if chosen is None:
        raise InvalidValue("reason", say("choose why the count differs"))
    if chosen is Reason.OTHER and not typed.get("note", "").strip():
        raise InvalidValue("reason", say("say in the note why it differs"))
    return chosen
