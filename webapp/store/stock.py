"""The ledger: every movement and the balance it leaves, in one transaction."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import col, select

from domain.errors import InvalidValue
from domain.units import Mass
from webapp.formats import mass as written
from webapp.store.engine import Session
from webapp.store.tables import LotRow, PowderRow, StockMovement
from webapp.store.tables.stock import MovementKind

__all__ = ["Movement", "MovementKind", "count_lot", "count_powder", "move_lot", "move_powder", "movements_of"]


@dataclass(frozen=True, slots=True)
class Movement:
    at: datetime
    kind: MovementKind
    mass: Mass
    note: str


def move_lot(
    session: Session, lot: str, kind: MovementKind, mass: Mass, *, note: str = "", flask: str | None = None, key: str | None = None
) -> bool:
    """Put ``mass`` (signed) onto a lot. False when ``key`` was seen before: nothing moves twice.

    Raises ``InvalidValue`` when the lot would go below nothing.
    """
    row = session.get(LotRow, lot)
    if row is None:
        raise InvalidValue("lot", f"there is no lot “{lot}”")
    return _move(session, row, StockMovement(kind=kind, lot=lot, mass=mass, note=note, flask=flask, key=key))


def move_powder(
    session: Session,
    powder: str,
    kind: MovementKind,
    mass: Mass,
    *,
    note: str = "",
    flask: str | None = None,
    key: str | None = None,
) -> bool:
    """The same for investment powder, by investment kind."""
    row = session.get(PowderRow, powder)
    if row is None:
        raise InvalidValue("powder", f"there is no powder for “{powder}”")
    return _move(session, row, StockMovement(kind=kind, powder=powder, mass=mass, note=note, flask=flask, key=key))


def count_lot(session: Session, lot: str, found: Mass, note: str = "") -> None:
    """A count found this much: the difference becomes a movement."""
    row = session.get(LotRow, lot)
    if row is None:
        raise InvalidValue("lot", f"there is no lot “{lot}”")
    move_lot(session, lot, MovementKind.COUNT, found - row.mass, note=note)


def count_powder(session: Session, powder: str, found: Mass, note: str = "") -> None:
    row = session.get(PowderRow, powder)
    if row is None:
        raise InvalidValue("powder", f"there is no powder for “{powder}”")
    move_powder(session, powder, MovementKind.COUNT, found - row.mass, note=note)


def movements_of(session: Session, lot: str | None = None, powder: str | None = None) -> tuple[Movement, ...]:
    """The newest 50 movements of a lot or of a powder."""
    owner = StockMovement.lot == lot if lot is not None else StockMovement.powder == powder
    rows = session.exec(select(StockMovement).where(owner).order_by(col(StockMovement.id).desc()).limit(50)).all()
    return tuple(Movement(row.at, row.kind, row.mass, row.note) for row in rows)


def _move(session: Session, row: LotRow | PowderRow, movement: StockMovement) -> bool:
    if movement.key and session.exec(select(StockMovement.id).where(StockMovement.key == movement.key)).first():
        return False
    balance = row.mass + movement.mass
    if balance < Mass(0):
        raise InvalidValue("mass", f"only {written(row.mass, 'g', 3)} are left, not {written(-movement.mass, 'g', 3)}")
    row.mass = balance
    session.add(movement)
    session.flush()
    return True
