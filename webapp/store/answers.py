"""The answers to changes that carried a key, kept in the transaction of the change."""

from __future__ import annotations

from datetime import timedelta

from sqlmodel import col, delete

from webapp.steady import utc_now
from webapp.store.engine import Database, Session
from webapp.store.tables import KeptAnswer

__all__ = ["KeptAnswer", "find", "keep", "prune"]

KEPT = timedelta(days=30)
"""No tablet is without network for so long and sends an entry then."""


def find(session: Session, key: str) -> KeptAnswer | None:
    return session.get(KeptAnswer, key)


def keep(session: Session, answer: KeptAnswer) -> None:
    session.add(answer)
    session.flush()


def prune(db: Database) -> None:
    """Forgets the old ones."""
    with db.write() as session:
        session.exec(delete(KeptAnswer).where(col(KeptAnswer.at) < utc_now() - KEPT))
