"""Metal that was ordered: placed, then arrived, arrived in part, or cancelled. Its lot is on its way until then,
and no account holds it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import col, select

from domain.units import Mass, Money
from webapp.store.columns import utc_now
from webapp.store.engine import Session
from webapp.store.tables import MetalOrderRow
from webapp.store.tables.stock import OrderState

__all__ = ["MetalOrdered", "OrderState", "close", "of_key", "orders", "place"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MetalOrdered:
    """``placed`` and ``closed`` in UTC. ``arrives``: the ISO date expected when it was placed. ``mass``: what was
    ordered, ``came``: what was weighed on arrival. ``cost``: of all that was ordered."""

    id: int
    lot: str
    metal: str
    mass: Mass
    cost: Money
    placed: datetime
    arrives: str
    state: OrderState
    came: Mass
    closed: datetime | None


def of_key(session: Session, key: str | None) -> str | None:
    """The lot that was ordered with this key."""
    return session.exec(select(MetalOrderRow.lot).where(MetalOrderRow.key == key)).first() if key else None


def place(session: Session, lot: str, metal: str, mass: Mass, cost: Money, arrives: str, key: str | None) -> None:
    """Nothing is booked: it is not in the house."""
    session.add(MetalOrderRow(lot=lot, metal=metal, mass=mass, cost=cost, arrives=arrives, key=key or None))
    session.flush()


def close(session: Session, lot: str, state: OrderState, came: Mass) -> None:
    """What became of it. A delivery that was typed in as a lot has no order, so nothing is to be closed."""
    row = session.exec(select(MetalOrderRow).where(MetalOrderRow.lot == lot, MetalOrderRow.state == OrderState.PLACED)).first()
    if row is not None:
        row.state, row.came, row.closed_at = state, came, utc_now()
        session.flush()


def orders(session: Session, newest: int = 30) -> tuple[MetalOrdered, ...]:
    """The newest first."""
    query = select(MetalOrderRow).order_by(col(MetalOrderRow.id).desc()).limit(newest)
    return tuple(
        MetalOrdered(
            id=row.id or 0,
            lot=row.lot,
            metal=row.metal,
            mass=row.mass,
            cost=row.cost,
            placed=row.at,
            arrives=row.arrives,
            state=row.state,
            came=row.came,
            closed=row.closed_at,
        )
        for row in session.exec(query).all()
    )
