"""Steps of the set-up that were gone through."""

from __future__ import annotations

from sqlmodel import select

from webapp.store.engine import Session
from webapp.store.tables.setup import SetupRow

SAVED, SKIPPED = "saved", "skipped"


def gone_through(session: Session) -> dict[str, str]:
    """By step, whether it was saved or skipped."""
    return {row.step: row.how for row in session.exec(select(SetupRow).order_by(SetupRow.step)).all()}


def mark(session: Session, step: str, how: str) -> None:
    row = session.get(SetupRow, step) or SetupRow(step=step, how=how)
    row.how = how
    session.add(row)
