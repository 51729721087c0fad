"""What moves of consumables: append-only entries that add up to what is on the shelf; and what is ordered of
them and of powder."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func
from sqlmodel import col, select

from domain.errors import DomainError, InvalidValue
from domain.saying import say
from domain.shop.consumables import Amount, UsedPer
from domain.stock.consumed import OTHER, POWDER, Delivery, Key
from domain.units import Money
from webapp.store.engine import Session
from webapp.store.tables import ConsumableRow, SupplyEntry, SupplyOrder
from webapp.store.tables.supplies import SupplyMove

__all__ = ["Moved", "Ordered", "SupplyMove", "move", "moves", "place", "settled", "take_back", "used_for", "waiting"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """``at`` in UTC. ``amount``: signed."""

    id: int
    at: datetime
    consumable: str
    kind: SupplyMove
    amount: Amount
    other: str
    flask: str | None
    per: UsedPer | None
    note: str
    taken_back: bool


def move(
    session: Session,
    consumable: str,
    kind: SupplyMove,
    amount: Amount,
    *,
    other: str = "",
    flask: str | None = None,
    per: UsedPer | None = None,
    note: str = "",
    key: str | None = None,
    reverses: int | None = None,
) -> None:
    """Write down that so much came (or, below nothing, went). A ``key`` that was seen moves nothing again.

    Raises ``InvalidValue`` when there is no such thing, or it would hold less than nothing.
    """
    if key and session.exec(select(SupplyEntry.id).where(SupplyEntry.key == key)).first():
        return
    row = session.get(ConsumableRow, consumable, with_for_update=True)
    if row is None:
        raise InvalidValue("consumable", say("there is no consumable “{name}”", name=consumable))
    if (row.amount + amount).base < 0:
        left = row.amount.decimal("unit", 3).normalize()
        raise InvalidValue(
            "mass",
            say(
                "only {left} {unit} are left, not {wanted} {unit}",
                left=f"{left:f}",
                wanted=f"{(-amount).decimal('unit', 3).normalize():f}",
                unit=row.unit,
            ),
        )
    row.amount = row.amount + amount
    entry = SupplyEntry(
        consumable=consumable,
        kind=kind,
        amount=amount,
        other=other,
        flask=flask,
        per=per,
        note=note,
        key=key or None,
        reverses=reverses,
    )
    session.add(entry)
    session.flush()


def settled(session: Session, row: ConsumableRow) -> None:
    """An amount that came with a row is an entry too."""
    wanted = row.amount
    booked = session.exec(select(func.sum(col(SupplyEntry.amount))).where(SupplyEntry.consumable == row.id)).one()
    there = booked if isinstance(booked, Amount) else Amount(int(booked or 0))
    if wanted != there:
        row.amount = there
        session.flush()
        move(session, row.id, SupplyMove.OPENING, wanted - there, other="opening balance")


def moves(session: Session, consumable: str | None = None, flask: str | None = None, newest: int = 50) -> tuple[Moved, ...]:
    """The newest first."""
    query = select(SupplyEntry).order_by(col(SupplyEntry.id).desc()).limit(newest)
    if consumable is not None:
        query = query.where(SupplyEntry.consumable == consumable)
    if flask is not None:
        query = query.where(SupplyEntry.flask == flask)
    rows = session.exec(query).all()
    gone = set(session.exec(select(SupplyEntry.reverses).where(col(SupplyEntry.reverses).is_not(None))).all())
    return tuple(
        Moved(
            id=row.id or 0,
            at=row.at,
            consumable=row.consumable,
            kind=row.kind,
            amount=row.amount,
            other=row.other,
            flask=row.flask,
            per=row.per,
            note=row.note,
            taken_back=row.id in gone,
        )
        for row in rows
    )


def used_for(session: Session, flasks: list[str]) -> tuple[Moved, ...]:
    """Uses for these flasks that were not taken back."""
    found = (one for flask in flasks for one in moves(session, flask=flask, newest=1000))
    return tuple(one for one in found if one.kind is SupplyMove.USED and not one.taken_back)


def take_back(session: Session, entry: Moved, reason: str) -> None:
    """The counter-entry of a use."""
    move(
        session,
        entry.consumable,
        SupplyMove.CORRECTION,
        -entry.amount,
        other=reason,
        flask=entry.flask,
        per=entry.per,
        reverses=entry.id,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Ordered:
    id: int
    key: Key
    amount: Amount
    cost: Money
    arrives: str

    @property
    def delivery(self) -> Delivery:
        return Delivery(key=self.key, arrives=self.arrives, amount=self.amount)


def place(session: Session, what: Key, amount: Amount, cost: Money, arrives: str, key: str | None) -> bool:
    """Nothing is on the shelf before it arrives. False when ``key`` was seen before."""
    if key and session.exec(select(SupplyOrder.id).where(SupplyOrder.key == key)).first():
        return False
    powder = what.ref if what.kind == POWDER else None
    order = SupplyOrder(
        powder=powder, consumable=None if powder else what.ref, amount=amount, cost=cost, arrives=arrives, key=key or None
    )
    session.add(order)
    session.flush()
    return True


def waiting(session: Session) -> tuple[Ordered, ...]:
    """What is on its way, by its day."""
    query = select(SupplyOrder).where(SupplyOrder.closed == "").order_by(col(SupplyOrder.arrives), col(SupplyOrder.id))
    return tuple(_ordered(row) for row in session.exec(query).all())


def close(session: Session, order: int, how: str) -> Ordered:
    """``how``: arrived or taken back. Raises ``DomainError`` where it is not on its way."""
    row = session.get(SupplyOrder, order, with_for_update=True)
    if row is None or row.closed:
        raise DomainError(say("This delivery is not on its way any more."))
    row.closed = how
    session.flush()
    return _ordered(row)


def _ordered(row: SupplyOrder) -> Ordered:
    key = Key(POWDER, row.powder) if row.powder else Key(OTHER, row.consumable or "")
    return Ordered(id=row.id or 0, key=key, amount=row.amount, cost=row.cost, arrives=row.arrives)
