"""What each cast lost, read from the books without their elements."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

from sqlalchemy import func, select
from sqlmodel import col

from domain.books.accounts import AccountKind
from domain.books.entries import EntryKind
from domain.stock.loss import FlaskLoss
from domain.units import Mass
from webapp.store.engine import Session
from webapp.store.tables import LedgerEntry, LedgerPosting


def losses(session: Session, since: datetime, timezone: str) -> tuple[FlaskLoss, ...]:
    """Casts that stand in the books since an instant, in the order in which they were weighed out."""
    gone = select(col(LedgerEntry.reverses)).where(col(LedgerEntry.reverses).is_not(None))
    entry = (col(LedgerEntry.id), col(LedgerEntry.flask), col(LedgerEntry.alloy), col(LedgerEntry.at))
    query = (
        select(*entry, col(LedgerPosting.account), func.sum(col(LedgerPosting.mass)))
        .join(LedgerPosting, col(LedgerPosting.entry) == col(LedgerEntry.id))
        .where(col(LedgerEntry.kind) == EntryKind.CAST, col(LedgerEntry.at) >= since, col(LedgerEntry.id).not_in(gone))
        .group_by(*entry, col(LedgerPosting.account))
        .order_by(col(LedgerEntry.at), col(LedgerEntry.id))
    )
    casts: dict[int, tuple[str, str, datetime, dict[AccountKind, Mass]]] = {}
    for number, flask, alloy, at, account, mass in session.connection().execute(query):
        sums = casts.setdefault(number or 0, (flask or "", alloy or "", at, {}))[3]
        sums[account] = mass if isinstance(mass, Mass) else Mass(int(mass))
    zone = ZoneInfo(timezone)
    return tuple(
        FlaskLoss(
            flask=flask,
            alloy=alloy,
            day=at.astimezone(zone).date(),
            charged=-sums.get(AccountKind.MELT, Mass(0)),
            castings=sums.get(AccountKind.JOB, Mass(0)),
            returned=sums.get(AccountKind.RETURNS, Mass(0)),
        )
        for flask, alloy, at, sums in casts.values()
    )


def noted_charges(session: Session, note: str) -> frozenset[str]:
    """Flasks with a charge in the books that carries this note."""
    query = select(col(LedgerEntry.flask)).where(col(LedgerEntry.kind) == EntryKind.CHARGE, col(LedgerEntry.note) == note)
    return frozenset(flask for (flask,) in session.connection().execute(query) if flask)
