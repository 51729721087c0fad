"""Decisions about what the record suggests: written down once, never changed."""

from __future__ import annotations

from sqlmodel import col, select

from domain.floor.learning import Decision
from webapp.store.engine import Session
from webapp.store.tables.learned import LearnedRow


def decisions(session: Session) -> tuple[Decision, ...]:
    """The newest first."""
    rows = session.exec(select(LearnedRow).order_by(col(LearnedRow.id).desc())).all()
    return tuple(
        Decision(
            what=row.what,
            subject=row.subject,
            accepted=row.accepted,
            planned=row.planned,
            use=row.use,
            count=row.count,
            at=row.at,
            who=row.who,
            note=row.note,
        )
        for row in rows
    )


def decide(session: Session, decision: Decision) -> None:
    session.add(
        LearnedRow(
            at=decision.at,
            who=decision.who,
            what=decision.what,
            subject=decision.subject,
            accepted=decision.accepted,
            planned=decision.planned,
            use=decision.use,
            count=decision.count,
            note=decision.note,
        )
    )
    session.flush()
