"""Pins, what has happened to each flask, and the ticked points of its checklists."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import col, select

from domain.floor.stages import Stage
from webapp.store.columns import utc_now
from webapp.store.engine import Session
from webapp.store.floor import Happened, happened, record, stages
from webapp.store.tables import ChecklistTick, FlaskPin

__all__ = ["Happened", "Pin", "Stage", "Tick", "happened", "pin", "pins", "record", "stages", "tick", "ticks", "unpin", "unpin_all"]


@dataclass(frozen=True, slots=True)
class Pin:
    flask: str
    reason: str
    at: datetime
    who: str


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
