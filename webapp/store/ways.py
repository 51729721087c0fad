"""Who reads in which units, and the shop's own for whoever chose none. Asked for at each request, and remembered
nowhere: what one reader chose must never reach another."""

from __future__ import annotations

from dataclasses import asdict

from sqlalchemy import ColumnElement
from sqlmodel import col, delete, or_, select

from webapp.store.engine import Session
from webapp.store.tables.ways import WaysRow
from webapp.ways import KINDS, METRIC, Ways


def of_account(session: Session, account: int | None, otherwise: Ways = METRIC) -> Ways:
    """Their own, else the shop's, else ``otherwise``."""
    rows = session.exec(select(WaysRow).where(or_(_of(account), _of(None)))).all()
    own = sorted(rows, key=lambda row: row.account is None)
    return _ways(own[0]) if own else otherwise


def own(session: Session, account: int | None) -> Ways | None:
    """What this account, or for none the shop, chose; none where it chose nothing."""
    row = session.exec(select(WaysRow).where(_of(account))).first()
    return None if row is None else _ways(row)


def choose(session: Session, account: int | None, ways: Ways | None) -> None:
    """``ways``: none to read as the shop does."""
    session.exec(delete(WaysRow).where(_of(account)))
    if ways is not None:
        session.add(WaysRow(account=account, **asdict(ways)))


def _of(account: int | None) -> ColumnElement[bool]:
    return col(WaysRow.account).is_(None) if account is None else col(WaysRow.account) == account


def _ways(row: WaysRow) -> Ways:
    return Ways(**{name: getattr(row, name) for name in KINDS})
