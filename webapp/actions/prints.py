"""Finding what is to be printed."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from domain.errors import DomainError
from domain.planning.plan import KilnLoad, Plan, PlannedFlask
from domain.safety.points import Pause
from domain.saying import say
from webapp.actions.gates import points_of, sharers
from webapp.actions.planning import Desk
from webapp.store import checklists, ticks
from webapp.store.engine import Session
from webapp.views.checks import kept_lines
from webapp.views.floor import RecordLine
from webapp.views.prints import PauseSheet, SheetHead, context_of_flask, pause_sheet


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """The plan that a sheet comes from, and its number."""

    plan: Plan
    version: int


def find_plan(desk: Desk) -> Found:
    """Raises ``DomainError`` where nothing is planned yet."""
    if desk.stored is None or desk.plan is None:
        raise DomainError(say("There is no plan yet, so there is nothing to print. Plan the week first."))
    return Found(plan=desk.plan, version=desk.stored.version)


def find_flask(desk: Desk, name: str) -> tuple[Found, PlannedFlask]:
    """Raises ``DomainError`` for a flask that the current plan does not have."""
    found = find_plan(desk)
    flask = found.plan.flask(name)
    if flask is None:
        raise DomainError(say("There is no flask {name} in the current plan.", name=name))
    return found, flask


def find_load(desk: Desk, name: str) -> tuple[Found, KilnLoad]:
    """Raises ``DomainError`` for a kiln load that the current plan does not have."""
    found = find_plan(desk)
    load = found.plan.load(name)
    if load is None:
        raise DomainError(say("There is no kiln load {name} in the current plan.", name=name))
    return found, load


def flask_pauses(
    session: Session, desk: Desk, flask: PlannedFlask, wanted: Collection[Pause] = tuple(Pause)
) -> tuple[PauseSheet, ...]:
    """The wanted pauses of a flask, in the order of the work, with the very points that the tablet asks; none where the
    shop does not keep what they depend on."""
    context, changes = context_of_flask(desk.problem, flask), checklists.changes(session)
    if context is None or desk.plan is None:
        return ()
    found = []
    for pause in [one for one in Pause if one in wanted]:
        sharing = sharers(desk.plan, flask, pause)
        points = points_of(desk.problem, sharing, pause, changes)
        if points is None:
            return ()
        found.append(pause_sheet(pause, context, points, tuple(f.id for f in sharing if f.id != flask.id)))
    return tuple(found)


def ticked_on(session: Session, desk: Desk, plan: Plan, day: date) -> tuple[tuple[str, RecordLine], ...]:
    """What was ticked, signed and let pass on a day, with its flask, in the order of time."""
    names = [flask.id for flask in plan.flasks]
    rows, passed = ticks.rows(session, names), ticks.overrides(session, names)
    lines = [(n, line) for n in names for line in kept_lines(desk.local, [r for r in rows if r.flask == n], passed.get(n, ()))]
    return tuple(sorted((one for one in lines if one[1].at.date() == day), key=lambda one: one[1].at))


def head(desk: Desk, found: Found, about: str, day: date) -> SheetHead:
    return SheetHead(about=about, day=day, version=found.version, printed=desk.now)


def flask_head(desk: Desk, found: Found, flask: PlannedFlask) -> SheetHead:
    """A flask's sheets carry the day it is cast."""
    return head(desk, found, flask.id, desk.problem.clock.day_of(flask.cast_start))
