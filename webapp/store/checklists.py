"""What the shop has made of the starting checklist."""

from __future__ import annotations

from collections.abc import Iterable

from sqlmodel import col, select

from domain.safety.own_points import PointChange
from webapp.store.convert import copy_into, new_row, to_domain
from webapp.store.engine import Session
from webapp.store.nouns import Edited
from webapp.store.tables import ChecklistPointRow


def changes(session: Session) -> tuple[PointChange, ...]:
    """All points that the shop changed or added, in their order; those left out too."""
    query = select(ChecklistPointRow).order_by(col(ChecklistPointRow.position), col(ChecklistPointRow.id))
    return tuple(to_domain(row, PointChange) for row in session.exec(query).all())


def versions(session: Session) -> dict[str, int]:
    """The version of each point that has a row; the others are at 0."""
    return {row.id: row.version for row in session.exec(select(ChecklistPointRow)).all()}


def save(session: Session, change: PointChange, version: int) -> None:
    """Keep an edit of what was read as ``version`` (0: nothing was kept of the point). Raises ``Edited``
    when that is not the newest."""
    row = session.get(ChecklistPointRow, change.id)
    if (row.version if row else 0) != version:
        raise Edited
    _put(session, row, change)


def put_all(session: Session, moved: Iterable[PointChange]) -> None:
    """Keep points as they are now, whatever was kept of them."""
    for change in moved:
        _put(session, session.get(ChecklistPointRow, change.id), change)


def _put(session: Session, row: ChecklistPointRow | None, change: PointChange) -> None:
    if row is None:
        session.add(new_row(ChecklistPointRow, change))
    else:
        copy_into(row, change)
    session.flush()
