"""Finding what is to be printed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from domain.errors import DomainError
from domain.planning.plan import KilnLoad, Plan, PlannedFlask
from domain.safety.own_points import PointChange
from webapp.actions.planning import Desk
from webapp.store import checklists
from webapp.store.engine import Session
from webapp.views.prints import SheetHead


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """The plan that a sheet comes from, and its number."""

    plan: Plan
    version: int


def find_plan(desk: Desk) -> Found:
    """Raises ``DomainError`` where nothing is planned yet."""
    if desk.stored is None or desk.plan is None:
        raise DomainError("There is no plan yet, so there is nothing to print. Plan the week first.")
    return Found(plan=desk.plan, version=desk.stored.version)


def find_flask(desk: Desk, name: str) -> tuple[Found, PlannedFlask]:
    """Raises ``DomainError`` for a flask that the current plan does not have."""
    found = find_plan(desk)
    flask = found.plan.flask(name)
    if flask is None:
        raise DomainError(f"There is no flask {name} in the current plan.")
    return found, flask


def find_load(desk: Desk, name: str) -> tuple[Found, KilnLoad]:
    """Raises ``DomainError`` for a kiln load that the current plan does not have."""
    found = find_plan(desk)
    load = found.plan.load(name)
    if load is None:
        raise DomainError(f"There is no kiln load {name} in the current plan.")
    return found, load


def shop_points(session: Session) -> tuple[PointChange, ...]:
    """What the shop has made of the starting checklists."""
    return checklists.changes(session)


def head(desk: Desk, found: Found, about: str, day: date) -> SheetHead:
    return SheetHead(about=about, day=day, version=found.version, printed=desk.now)


def flask_head(desk: Desk, found: Found, flask: PlannedFlask) -> SheetHead:
    """A flask's sheets carry the day it is cast."""
    return head(desk, found, flask.id, desk.problem.clock.day_of(flask.cast_start))
