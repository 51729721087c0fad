"""Tokens of other software in the database."""

from __future__ import annotations

from sqlmodel import col, delete, select

from domain.errors import InvalidValue
from webapp.auth.keys import token_digest
from webapp.auth.roles import THIS_MACHINE, Role, Who
from webapp.store.accounts import account
from webapp.store.engine import Session
from webapp.store.tables.access import AccessRow

__all__ = ["AccessRow"]


def accesses(session: Session) -> tuple[tuple[AccessRow, str], ...]:
    """Each with the name of whoever made it, the oldest first."""
    rows = session.exec(select(AccessRow).order_by(col(AccessRow.id))).all()
    return tuple((row, _maker(session, row)) for row in rows)


def access(session: Session, id: int) -> AccessRow | None:
    return session.get(AccessRow, id)


def add_access(session: Session, name: str, role: Role, token: str, maker: int | None) -> None:
    """Raises ``InvalidValue`` for a ``name`` that is taken."""
    if any(row.name.casefold() == name.casefold() for row in session.exec(select(AccessRow)).all()):
        raise InvalidValue("name", f"there is an access named {name} already; choose another name, or end that one first")
    session.add(AccessRow(name=name, role=role, token=token_digest(token), maker=maker))


def end_access(session: Session, row: AccessRow) -> None:
    session.exec(delete(AccessRow).where(col(AccessRow.id) == row.id))


def who_asks(session: Session, token: str) -> tuple[AccessRow, Who] | None:
    """Whose token this is, and as whom it acts; none where it is unknown or ended. It acts for the account that made it,
    so that it is no second person beside that one."""
    row = session.exec(select(AccessRow).where(AccessRow.token == token_digest(token))).first()
    if row is None:
        return None
    name = f"{row.name} for {_maker(session, row)}"
    return row, Who(account=row.maker, name=name, role=row.role, access=row.name)


def used(session: Session, id: int, day: str) -> None:
    """``day``: ISO date."""
    row = session.get(AccessRow, id)
    if row is not None:
        row.used_on = day


def _maker(session: Session, row: AccessRow) -> str:
    found = account(session, row.maker) if row.maker else None
    return found.name if found else THIS_MACHINE.name
