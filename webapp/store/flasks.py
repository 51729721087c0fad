"""Pins, and what has happened to each flask."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import select

from domain.floor.stages import Stage
from webapp.store.columns import utc_now
from webapp.store.engine import Session
from webapp.store.floor import Happened, happened, record, stages
from webapp.store.tables import FlaskPin

__all__ = ["Happened", "Pin", "Stage", "happened", "pin", "pins", "record", "stages", "unpin", "unpin_all"]


@dataclass(frozen=True, slots=True)
class Pin:
    flask: str
    reason: str
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
