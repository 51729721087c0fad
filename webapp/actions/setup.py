"""Setting up a new shop, step by step: the same writes as the shop's own pages, for several things at once."""

from __future__ import annotations

from collections.abc import Mapping

from domain.errors import InvalidValue
from domain.saying import say
from webapp.actions import shop
from webapp.forms import typed_from
from webapp.setup_steps import Step
from webapp.store import nouns, setup
from webapp.store.engine import Session
from webapp.store.nouns import Stored


class NotSaved(Exception):
    """``errors``: messages by field, each behind the number of its thing."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        super().__init__("fields need another look")
        self.errors = errors


def things_of(session: Session, step: Step) -> tuple[Stored, ...]:
    """What the step shows: what is in use and, where the shop picks, what is not."""
    used = nouns.all_stored(session, step.noun.kind)
    return used + nouns.all_stored(session, step.noun.kind, archived=True) if step.pick else used


def of_field(name: str, fields: tuple[str, ...]) -> bool:
    """Whether a form's name, such as ``shifts.0.day``, belongs to one of these fields."""
    return name.partition(".")[0] in fields


def save(session: Session, step: Step, typed: Mapping[str, str]) -> None:
    """All that was changed, and that the step is done. Raises ``NotSaved``, upon which nothing may be kept."""
    errors: dict[str, str] = {}
    for number in range(len(typed)):
        if (key := typed.get(f"{number}.id")) is None:
            break
        stored = nouns.find_stored(session, step.noun.kind, key)
        if stored is None:
            errors[""] = say("Something on this page is no longer there. Open the page again.")
            continue
        start = f"{number}."
        own = {name.removeprefix(start): text for name, text in typed.items() if name.startswith(start)}
        errors |= {start + name if name else "": text for name, text in _save_one(session, step, stored, own).items()}
    if errors:
        raise NotSaved(errors)
    setup.mark(session, step.slug, setup.SAVED)


def skip(session: Session, step: Step) -> None:
    """Go on without it; what was saved before stays saved."""
    if step.slug not in setup.gone_through(session):
        setup.mark(session, step.slug, setup.SKIPPED)


def _save_one(session: Session, step: Step, stored: Stored, typed: Mapping[str, str]) -> Mapping[str, str]:
    if step.pick:
        return _pick(session, stored, wanted=bool(typed.get("use")))
    before = typed_from(step.noun.document, stored.value)
    shown = {name: text for name, text in before.items() if of_field(name, step.fields) and text}
    asked = {name: text for name, text in typed.items() if of_field(name, step.fields) and text}
    if asked == shown:
        return {}
    if step.count:
        return _count(session, step, stored, typed)
    rest = {name: text for name, text in before.items() if not of_field(name, step.fields)}
    version = int(typed["version"]) if typed.get("version", "").isdecimal() else 0
    return shop.change(session, stored, step.noun.document, {**rest, **asked}, version, step.noun.keeps).errors


def _pick(session: Session, stored: Stored, *, wanted: bool) -> Mapping[str, str]:
    kind = type(stored.value)
    try:
        if wanted and stored.archived:
            shop.restore(session, kind, stored.key)
        elif not wanted and not stored.archived:
            shop.archive(session, kind, stored.key)
    except InvalidValue as error:
        return {"use": say("cannot be put out of use: {reason}", reason=str(error))}
    return {}


def _count(session: Session, step: Step, stored: Stored, typed: Mapping[str, str]) -> Mapping[str, str]:
    moved = {"kind": "count", "mass": typed.get("mass", ""), "note": "counted at the set-up"}
    return shop.move_stock(session, step.noun.kind, stored.key, moved).errors
