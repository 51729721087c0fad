"""Editing the checklists: other words, points of the shop's own, points left out, their order."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from domain.errors import InvalidValue
from domain.safety.condition_words import OF_OWN_POINTS, condition, known_cautions
from domain.safety.own_points import OWN, PointChange, change_of, last_position, moved, restored
from domain.safety.point_rules import normal, problems
from domain.safety.points import Pause, Reading
from domain.saying import say
from domain.shop.alloy import Alloy
from webapp.actions.saving import OVERTAKEN, Saved, key_from
from webapp.store import checklists, nouns
from webapp.store.engine import Session


def cautions(session: Session) -> frozenset[str]:
    """The cautions that a point may look for: those of the starting tables and of the shop's alloys."""
    return known_cautions().union(*(alloy.cautions for alloy in nouns.all_of(session, Alloy)))


def add(session: Session, typed: Mapping[str, str]) -> Saved:
    """Add a point of the shop's own at the end of its pause."""
    changes = checklists.changes(session)
    there = {change.id for change in changes}
    point = OWN + key_from(typed.get("text", ""), lambda key: OWN + key in there)
    try:
        pause = Pause[typed.get("pause", "")]
    except KeyError:
        return Saved(errors={"pause": say("choose the pause at which it is asked")})
    blank = PointChange(id=point, pause=pause, position=last_position(pause, changes))
    after, errors = _typed_into(blank, typed, cautions(session))
    errors = errors or problems(after, None, changes, cautions(session))
    return Saved(point, errors) if errors else _saved(session, after, 0)


def change(session: Session, before: PointChange, typed: Mapping[str, str], version: int) -> Saved:
    """Save an edit of what was read as ``version``."""
    after, errors = _typed_into(before, typed, cautions(session))
    return Saved(before.id, errors) if errors else _checked(session, before, after, version)


def drop(session: Session, before: PointChange, reason: str, version: int) -> Saved:
    """Leave a point out of its list; one with a caution only with a reason, which is kept."""
    return _checked(session, before, normal(replace(before, dropped=True, reason=reason)), version)


def restore(session: Session, before: PointChange, version: int) -> Saved:
    """Back to the starting text, reading and tick."""
    return _checked(session, before, restored(before), version)


def put_back(session: Session, before: PointChange, version: int) -> Saved:
    """Ask a point again that was left out, in the shop's words."""
    return _checked(session, before, normal(replace(before, dropped=False)), version)


def move(session: Session, point: str, step: int) -> None:
    """Put a point before its neighbour (−1) or after it (+1); at an end it stays."""
    checklists.put_all(session, moved(point, step, checklists.changes(session)))


def find(session: Session, point: str) -> tuple[PointChange, int] | None:
    """How a point stands, with its version; none for an unknown one."""
    standing = change_of(point, checklists.changes(session))
    return None if standing is None else (standing, checklists.versions(session).get(point, 0))


def _checked(session: Session, before: PointChange, after: PointChange, version: int) -> Saved:
    errors = problems(after, before, checklists.changes(session), cautions(session))
    return Saved(before.id, errors) if errors else _saved(session, after, version)


def _saved(session: Session, after: PointChange, version: int) -> Saved:
    try:
        checklists.save(session, after, version)
    except nouns.Edited:
        newest = checklists.versions(session).get(after.id, 0)
        return Saved(after.id, {"": OVERTAKEN}, overtaken=True, version=newest)
    return Saved(after.id)


def _typed_into(before: PointChange, typed: Mapping[str, str], known: frozenset[str]) -> tuple[PointChange, dict[str, str]]:
    """The change as typed, and messages for choices that are not among those offered."""
    errors: dict[str, str] = {}
    conditions: dict[str, str | bool] = {}
    for name in OF_OWN_POINTS if before.own else ():
        try:
            if typed.get(name):
                conditions[name] = condition(name, typed[name], known)
        except InvalidValue as error:
            errors[name] = str(error)
    reading = typed.get("reading", Reading.NONE.value)
    if reading not in set(Reading):
        errors["reading"] = say("“{reading}” is not a reading that is known here; choose from the list", reading=reading)
        reading = Reading.NONE.value
    after = replace(
        before,
        text=typed.get("text", ""),
        why=typed.get("why", ""),
        required="required" in typed,
        reading=Reading(reading),
        second="second" in typed,
        reason=typed.get("reason", before.reason),
        conditions=conditions,
    )
    return normal(after), errors
