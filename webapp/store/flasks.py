"""Pins, what has happened to each flask, and the ticked points of its checklists."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import col, select

from webapp.store import plans
from webapp.store.columns import utc_now
from webapp.store.engine import Session
from webapp.store.tables import ChecklistTick, FlaskEvent, FlaskPin
from webapp.store.tables.record import Stage

__all__ = ["Happened", "Pin", "Stage", "Tick", "happened", "pin", "pins", "record", "stages", "tick", "ticks", "unpin", "unpin_all"]


@dataclass(frozen=True, slots=True)
class Pin:
    flask: str
    reason: str
    at: datetime
    who: str


@dataclass(frozen=True, slots=True)
class Happened:
    """``at`` in UTC; ``plan_version`` the plan that was current then. ``pieces``: by job, what came out
    of a flask that was knocked out."""

    flask: str
    stage: Stage
    at: datetime
    who: str
    note: str
    plan_version: int | None
    pieces: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Tick:
    pause: str
    point: str
    text: str
    reading: str
    at: datetime
    who: str


def pins(session: Session) -> dict[str, Pin]:
    rows = session.exec(select(FlaskPin)).all()
    return {row.flask: Pin(row.flask, row.reason, row.at, row.who) for row in rows}


def pin(session: Session, flask: str, reason: str = "", who: str = "") -> None:
    row = session.get(FlaskPin, flask) or FlaskPin(flask=flask)
    row.reason, row.who, row.at = reason, who, utc_now()
    session.add(row)
    session.flush()


def unpin(session: Session, flask: str) -> None:
    row = session.get(FlaskPin, flask)
    if row is not None:
        session.delete(row)
        session.flush()


def unpin_all(session: Session) -> None:
    for row in session.exec(select(FlaskPin)).all():
        session.delete(row)
    session.flush()


def record(
    session: Session,
    flask: str,
    stage: Stage,
    *,
    plan_version: int | None = None,
    at: datetime | None = None,
    who: str = "",
    note: str = "",
    key: str | None = None,
) -> bool:
    """Write down what happened. False when ``key`` was seen before: a repeated request counts once."""
    if key and session.exec(select(FlaskEvent.id).where(FlaskEvent.key == key)).first():
        return False
    event = FlaskEvent(flask=flask, stage=stage, plan_version=plan_version, at=at or utc_now(), who=who, note=note, key=key)
    if stage is Stage.KNOCKED_OUT:
        event.pieces = _contents(session, flask, plan_version)
    session.add(event)
    session.flush()
    return True


def _contents(session: Session, flask: str, plan_version: int | None) -> Mapping[str, int]:
    """What the plan has in a flask: the given version, else the current one."""
    stored = plans.current_plan(session) if plan_version is None else plans.plan_version(session, plan_version)
    planned = stored.plan.flask(flask) if stored else None
    return planned.contents if planned else {}


def happened(session: Session) -> dict[str, tuple[Happened, ...]]:
    """What stands for each flask, oldest first; what was undone is not in it."""
    standing: dict[str, list[Happened]] = defaultdict(list)
    for row in session.exec(select(FlaskEvent).order_by(col(FlaskEvent.id))).all():
        if row.stage is not Stage.UNDONE:
            standing[row.flask].append(
                Happened(row.flask, row.stage, row.at, row.who, row.note, row.plan_version, row.pieces or {})
            )
        elif standing[row.flask]:
            standing[row.flask].pop()
    return {flask: tuple(events) for flask, events in standing.items() if events}


def stages(session: Session, flasks: Iterable[str]) -> dict[str, Stage]:
    """The last stage that stands, for the flasks that have one."""
    wanted = set(flasks)
    return {flask: events[-1].stage for flask, events in happened(session).items() if flask in wanted}


def tick(
    session: Session,
    flask: str,
    pause: str,
    point: str,
    text: str,
    *,
    ticked: bool = True,
    reading: str = "",
    who: str = "",
    key: str | None = None,
) -> bool:
    """Tick a point, or take a tick back. False when ``key`` was seen before."""
    if key and session.exec(select(ChecklistTick.id).where(ChecklistTick.key == key)).first():
        return False
    row = ChecklistTick(flask=flask, pause=pause, point=point, text=text, reading=reading, ticked=ticked, who=who, key=key)
    session.add(row)
    session.flush()
    return True


def ticks(session: Session, flask: str) -> dict[tuple[str, str], Tick]:
    """The ticks that stand, by pause and point."""
    standing: dict[tuple[str, str], Tick] = {}
    for row in session.exec(select(ChecklistTick).where(ChecklistTick.flask == flask).order_by(col(ChecklistTick.id))).all():
        standing.pop((row.pause, row.point), None)
        if row.ticked:
            standing[row.pause, row.point] = Tick(row.pause, row.point, row.text, row.reading, row.at, row.who)
    return standing
