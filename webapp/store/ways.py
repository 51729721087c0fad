"""Who reads in which units, and the shop's own for whoever chose none."""

from __future__ import annotations

from dataclasses import asdict

from sqlalchemy import ColumnElement
from sqlmodel import col, delete, select

from webapp.store.engine import Session
from webapp.store.memory import recalled, remember
from webapp.store.tables.ways import WaysRow
from webapp.ways import KINDS, METRIC, Ways

ALL = "ways"
"""by account, the shop's under none; looked up at each request"""


def of_account(session: Session, account: int | None) -> Ways:
    """Their own, else the shop's, else metric."""
    known = _all(session)
    return known.get(account) or known.get(None) or METRIC


def own(session: Session, account: int | None) -> Ways | None:
    """What this account, or for none the shop, chose; none where it chose nothing."""
    return _all(session).get(account)


def choose(session: Session, account: int | None, ways: Ways | None) -> None:
    """``ways``: none to read as the shop does."""
    session.exec(delete(WaysRow).where(_of(account)))
    if ways is not None:
        session.add(WaysRow(account=account, **asdict(ways)))


def _of(account: int | None) -> ColumnElement[bool]:
    return col(WaysRow.account).is_(None) if account is None else col(WaysRow.account) == account


def _all(session: Session) -> dict[int | None, Ways]:
    known: dict[int | None, Ways] | None = recalled(session, ALL)
    if known is None:
        rows = session.exec(select(WaysRow).order_by(col(WaysRow.id))).all()
        known = {row.account: Ways(**{name: getattr(row, name) for name in KINDS}) for row in rows}
        remember(session, ALL, known)
    return known
