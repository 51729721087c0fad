"""Consumables, what moved of them, and what is ordered of them and of investment powder."""

from datetime import datetime
from enum import StrEnum
from typing import ClassVar

from sqlmodel import Field

from domain.shop.consumables import Amount, CountedIn, UsedPer
from domain.units import Money
from webapp.store.columns import AmountColumn, DayColumn, InstantColumn, MoneyColumn, at_least, checks, kept, one_of, utc_now
from webapp.store.tables.base import Entity, Table, keep_append_only


class SupplyMove(StrEnum):
    """What happened to a consumable."""

    OPENING = "opening"
    RECEIVED = "received"
    TAKEN_OUT = "taken out"
    CAME_BACK = "came back"
    COUNTED = "counted"
    USED = "used"
    CORRECTION = "taken back"


class ConsumableRow(Entity, table=True):
    """``amount``: what its entries add up to, kept in the same transaction."""

    __tablename__: ClassVar[str] = "consumable"
    __table_args__ = (*at_least(0, "amount", "use", "price", "lead_days"), *at_least(1, "pack"))

    name: str
    unit: CountedIn = kept(one_of(CountedIn))
    per: UsedPer = kept(one_of(UsedPer))
    use: Amount = kept(AmountColumn)
    amount: Amount = kept(AmountColumn)
    pack: Amount = kept(AmountColumn)
    price: Money = kept(MoneyColumn)
    lead_days: int


class SupplyEntry(Table, table=True):
    """Append-only. ``amount``: signed, positive for what came. ``other``: where it came from or went to, or why a
    count differs. ``flask`` and ``per``: for which it was used, and by what. ``key``: made by the client, so that
    a repeated request moves nothing twice. ``reverses``: the entry that this one takes back."""

    __tablename__: ClassVar[str] = "supply_entry"

    id: int | None = Field(default=None, primary_key=True)
    at: datetime = kept(InstantColumn, default_factory=utc_now)
    consumable: str = Field(foreign_key="consumable.id", index=True)
    kind: SupplyMove = kept(one_of(SupplyMove))
    amount: Amount = kept(AmountColumn)
    other: str = ""
    flask: str | None = Field(default=None, index=True)
    per: UsedPer | None = kept(one_of(UsedPer), nullable=True, default=None)
    note: str = ""
    key: str | None = Field(default=None, unique=True)
    reverses: int | None = Field(default=None, foreign_key="supply_entry.id", unique=True)


class SupplyOrder(Table, table=True):
    """What was ordered: a delivery on its way until ``closed`` says what became of it. ``powder``: an investment
    kind, ``consumable``: one of these; it is the one or the other. ``amount``: of powder in milligrams, which are
    thousandths of its gram."""

    __tablename__: ClassVar[str] = "supply_order"
    __table_args__ = (
        *at_least(1, "amount"),
        *at_least(0, "cost"),
        *checks(one_thing="(powder IS NULL) <> (consumable IS NULL)", ended="closed IN ('', 'arrived', 'taken back')"),
    )

    id: int | None = Field(default=None, primary_key=True)
    at: datetime = kept(InstantColumn, default_factory=utc_now)
    powder: str | None = Field(default=None, foreign_key="powder.investment")
    consumable: str | None = Field(default=None, foreign_key="consumable.id")
    amount: Amount = kept(AmountColumn)
    cost: Money = kept(MoneyColumn)
    arrives: str = kept(DayColumn)
    closed: str = ""
    key: str | None = Field(default=None, unique=True)


keep_append_only("supply_entry", "id = NEW.id", "key = NEW.key", "reverses = NEW.reverses")
