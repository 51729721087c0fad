"""What each cast lost, read from the books without their elements.

The books are only ever added to, so what was read of them once is kept and later entries are added to it.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from typing import Any
from weakref import WeakKeyDictionary
from zoneinfo import ZoneInfo

from sqlalchemy import BigInteger, ColumnElement, Pool, case, func, select, type_coerce
from sqlmodel import col

from domain.books.accounts import AccountKind
from domain.books.entries import EntryKind
from domain.stock.loss import FlaskLoss
from domain.units import Mass
from webapp.store.engine import Session
from webapp.store.tables import LedgerEntry, LedgerPosting

CLEANED = (EntryKind.SHELVED, EntryKind.REFINER)


def losses(session: Session, since: datetime, timezone: str) -> tuple[FlaskLoss, ...]:
    """Casts that stand in the books since an instant, in the order in which they were weighed out."""
    found = _Losses(since, timezone)
    found.catch_up(session)
    return found.casts


def known_losses(session: Session, since: datetime, timezone: str) -> tuple[FlaskLoss, ...]:
    """The same, of which only what came since the last time is read. For reading sessions: what a writing one sees
    may not be kept in the end."""
    pool = session.connection().engine.pool
    with _LOCK:
        known = _KNOWN.get(pool)
        if known is None or (known.since, known.timezone) != (since, timezone) or not known.holds_in(session):
            known = _KNOWN[pool] = _Losses(since, timezone)
        known.catch_up(session)
        return known.casts


class _Losses:
    """``last``: the newest entry that is counted in, and when it was made."""

    def __init__(self, since: datetime, timezone: str) -> None:
        self.since, self.timezone, self.zone = since, timezone, ZoneInfo(timezone)
        self.last: tuple[int, datetime] | None = None
        self.casts: tuple[FlaskLoss, ...] = ()
        self._cast: dict[int, tuple[datetime, FlaskLoss]] = {}
        self._cleaned: dict[int, tuple[str, Mass]] = {}

    def holds_in(self, session: Session) -> bool:
        """Whether these are the books that were read: another copy may have been put in their place."""
        if self.last is None:
            return True
        query = select(col(LedgerEntry.at)).where(col(LedgerEntry.id) == self.last[0])
        return session.connection().execute(query).scalar() == self.last[1]

    def catch_up(self, session: Session) -> None:
        newest = (
            session.connection()
            .execute(select(col(LedgerEntry.id), col(LedgerEntry.at)).order_by(col(LedgerEntry.id).desc()).limit(1))
            .first()
        )
        if newest is None or (self.last is not None and newest.id <= self.last[0]):
            return
        after = self.last[0] if self.last else 0
        self._add(session, after)
        self._take_out(session, after)
        self.last = (newest.id, newest.at)
        self.casts = tuple(self._in_order())

    def _add(self, session: Session, after: int) -> None:
        wanted = (EntryKind.CAST, *CLEANED)
        query = (
            select(
                col(LedgerEntry.id),
                col(LedgerEntry.kind),
                col(LedgerEntry.flask),
                col(LedgerEntry.alloy),
                col(LedgerEntry.at),
                _of(AccountKind.MELT).label("melt"),
                _of(AccountKind.JOB).label("pieces"),
                _of(AccountKind.RETURNS).label("back"),
                _of(AccountKind.LOSS).label("lost"),
                func.max(case((col(LedgerPosting.account) == AccountKind.LOSS, col(LedgerPosting.ref)), else_="")).label("ref"),
            )
            .join(LedgerPosting, col(LedgerPosting.entry) == col(LedgerEntry.id))
            .where(col(LedgerEntry.kind).in_(wanted), col(LedgerEntry.at) >= self.since, col(LedgerEntry.id) > after)
            .group_by(col(LedgerEntry.id))
        )
        for row in session.connection().execute(query):
            if row.kind is EntryKind.CAST:
                self._cast[row.id] = (row.at, self._loss(row))
            elif row.lost:
                self._cleaned[row.id] = (row.ref, Mass(int(row.lost)))

    def _loss(self, row: Any) -> FlaskLoss:
        return FlaskLoss(
            flask=row.flask or "",
            alloy=row.alloy or "",
            day=row.at.astimezone(self.zone).date(),
            charged=Mass(-int(row.melt)),
            castings=Mass(int(row.pieces)),
            returned=Mass(int(row.back)),
        )

    def _take_out(self, session: Session, after: int) -> None:
        """What was taken back does not stand."""
        query = select(col(LedgerEntry.reverses)).where(col(LedgerEntry.reverses).is_not(None), col(LedgerEntry.id) > after)
        for number in {number for (number,) in session.connection().execute(query) if number is not None}:
            self._cast.pop(number, None)
            self._cleaned.pop(number, None)

    def _in_order(self) -> Iterator[FlaskLoss]:
        off: dict[str, Mass] = {}
        for flask, mass in self._cleaned.values():
            off[flask] = off.get(flask, Mass(0)) + mass
        for number in sorted(self._cast, key=lambda number: (self._cast[number][0], number)):
            loss = self._cast[number][1]
            yield replace(loss, cleaned_off=off[loss.flask]) if loss.flask in off else loss


_LOCK = threading.Lock()
_KNOWN: WeakKeyDictionary[Pool, _Losses] = WeakKeyDictionary()
"""For each database, as long as it is open."""


def _of(kind: AccountKind) -> ColumnElement[int]:
    """Milligrams that came into accounts of a kind."""
    mass = type_coerce(col(LedgerPosting.mass), BigInteger)
    return func.sum(case((col(LedgerPosting.account) == kind, mass), else_=0))


def noted_charges(session: Session, note: str) -> frozenset[str]:
    """Flasks with a charge in the books that carries this note."""
    query = select(col(LedgerEntry.flask)).where(col(LedgerEntry.kind) == EntryKind.CHARGE, col(LedgerEntry.note) == note)
    return frozenset(flask for (flask,) in session.connection().execute(query) if flask)
