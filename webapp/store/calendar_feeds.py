"""Feed addresses in the database."""

from __future__ import annotations

from sqlmodel import col, delete, select

from domain.errors import InvalidValue
from domain.saying import say
from webapp.auth.keys import token_digest
from webapp.store.engine import Session
from webapp.store.tables.calendar import CalendarFeedRow

__all__ = ["CalendarFeedRow"]


def feeds(session: Session) -> tuple[CalendarFeedRow, ...]:
    return tuple(session.exec(select(CalendarFeedRow).order_by(col(CalendarFeedRow.id))).all())


def add_feed(session: Session, name: str, token: str) -> None:
    """Raises ``InvalidValue`` for a ``name`` that is taken."""
    if any(row.name.casefold() == name.casefold() for row in feeds(session)):
        raise InvalidValue(
            "name", say("there is a feed named {name} already; choose another name, or withdraw that one first", name=name)
        )
    session.add(CalendarFeedRow(name=name, token=token_digest(token)))


def is_feed(session: Session, token: str) -> bool:
    return session.exec(select(CalendarFeedRow.id).where(CalendarFeedRow.token == token_digest(token))).first() is not None


def withdraw(session: Session, id: int) -> str | None:
    """Its name; none where there is no such feed."""
    row = session.get(CalendarFeedRow, id)
    if row is None:
        return None
    session.exec(delete(CalendarFeedRow).where(col(CalendarFeedRow.id) == id))
    return row.name
