"""What each cast lost, read from the books without their elements."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from sqlalchemy import BigInteger, ColumnElement, case, func, select, type_coerce
from sqlmodel import col

from domain.books.accounts import AccountKind
from domain.books.entries import EntryKind
from domain.stock.loss import FlaskLoss
from domain.units import Mass
from webapp.store.books import taken_back
from webapp.store.engine import Session
from webapp.store.tables import LedgerEntry, LedgerPosting


def losses(session: Session, since: datetime, timezone: str) -> tuple[FlaskLoss, ...]:
    """Casts that stand in the books since an instant, in the order in which they were weighed out."""
    entry = (col(LedgerEntry.id), col(LedgerEntry.flask), col(LedgerEntry.alloy), col(LedgerEntry.at))
    query = (
        select(*entry, _of(AccountKind.MELT), _of(AccountKind.JOB), _of(AccountKind.RETURNS))
        .join(LedgerPosting, col(LedgerPosting.entry) == col(LedgerEntry.id))
        .where(col(LedgerEntry.kind) == EntryKind.CAST, col(LedgerEntry.at) >= since)
        .group_by(*entry)
        .order_by(col(LedgerEntry.at), col(LedgerEntry.id))
    )
    zone, gone = ZoneInfo(timezone), taken_back(session)
    off = _cleaned_off(session, since, gone)
    return tuple(
        FlaskLoss(
            flask=flask or "",
            alloy=alloy or "",
            day=at.astimezone(zone).date(),
            charged=Mass(-int(melt)),
            castings=Mass(int(pieces)),
            returned=Mass(int(back)),
            cleaned_off=off.get(flask or "", Mass(0)),
        )
        for number, flask, alloy, at, melt, pieces, back in session.connection().execute(query)
        if number not in gone
    )


def _of(kind: AccountKind) -> ColumnElement[int]:
    """Milligrams that came into accounts of a kind."""
    mass = type_coerce(col(LedgerPosting.mass), BigInteger)
    return func.sum(case((col(LedgerPosting.account) == kind, mass), else_=0))


CLEANED = (EntryKind.SHELVED, EntryKind.REFINER)


def _cleaned_off(session: Session, since: datetime, gone: frozenset[int]) -> dict[str, Mass]:
    """By flask, what its buttons and sprues lost in cleaning."""
    query = (
        select(col(LedgerPosting.entry), col(LedgerPosting.ref), func.sum(type_coerce(col(LedgerPosting.mass), BigInteger)))
        .join(LedgerEntry, col(LedgerPosting.entry) == col(LedgerEntry.id))
        .where(col(LedgerEntry.kind).in_(CLEANED), col(LedgerEntry.at) >= since)
        .where(col(LedgerPosting.account) == AccountKind.LOSS)
        .group_by(col(LedgerPosting.entry), col(LedgerPosting.ref))
    )
    found: dict[str, Mass] = {}
    for number, flask, mass in session.connection().execute(query):
        if number not in gone:
            found[flask] = found.get(flask, Mass(0)) + Mass(int(mass))
    return found


def noted_charges(session: Session, note: str) -> frozenset[str]:
    """Flasks with a charge in the books that carries this note."""
    query = select(col(LedgerEntry.flask)).where(col(LedgerEntry.kind) == EntryKind.CHARGE, col(LedgerEntry.note) == note)
    return frozenset(flask for (flask,) in session.connection().execute(query) if flask)
