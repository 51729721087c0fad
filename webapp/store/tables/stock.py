"""Jobs, metals, lots and powder."""

from collections.abc import Mapping
from datetime import datetime
from enum import StrEnum
from typing import ClassVar

from sqlmodel import Field

from domain.shop.alloy import Section
from domain.shop.lots import MetalKind
from domain.sources import Source
from domain.units import Length, Mass, Money, Share, Volume
from webapp.store.columns import (
    DayColumn,
    InstantColumn,
    JsonOf,
    LengthColumn,
    MassColumn,
    MoneyColumn,
    VolumeColumn,
    at_least,
    checks,
    kept,
    one_of,
    utc_now,
)
from webapp.store.tables.base import Entity, Kept, Table

COMPOSITION = JsonOf(dict[str, Share])


class MetalRow(Entity, table=True):
    __tablename__: ClassVar[str] = "metal"
    __table_args__ = (*at_least(0, "price", "lead_days"), *at_least(1, "price_mass", "pack"))

    name: str
    kind: MetalKind = kept(one_of(MetalKind))
    composition: Mapping[str, Share] = kept(COMPOSITION)
    price: Money = kept(MoneyColumn)
    price_mass: Mass = kept(MassColumn)
    lead_days: int | None = None
    pack: Mass = kept(MassColumn)
    alloy: str | None = Field(default=None, foreign_key="alloy.id")
    family: str | None = None
    sources: Mapping[str, Source] = kept(JsonOf(dict[str, Source]), default_factory=dict)


class LotRow(Entity, table=True):
    """``mass``: what the lot's account holds by the books, kept in the same transaction. ``ordered``: of a
    delivery on its way, which no account holds yet."""

    __tablename__: ClassVar[str] = "lot"
    __table_args__ = at_least(0, "mass", "melts", "cost")

    name: str
    kind: MetalKind = kept(one_of(MetalKind))
    composition: Mapping[str, Share] = kept(COMPOSITION)
    mass: Mass = kept(MassColumn)
    ordered: Mass = kept(MassColumn, default=Mass(0), sa_column_kwargs={"server_default": "0"})
    melts: int = 0
    metal: str | None = Field(default=None, foreign_key="metal.id")
    alloy: str | None = Field(default=None, foreign_key="alloy.id")
    owner_job: str | None = None
    since: str = kept(DayColumn(empty=""), nullable=True, default="")
    arrives: str | None = kept(DayColumn, nullable=True, default=None)
    cost: Money = kept(MoneyColumn, default=Money(0))


class OrderState(StrEnum):
    PLACED = "placed"
    ARRIVED = "arrived"
    IN_PART = "arrived in part"
    CANCELLED = "cancelled"


class MetalOrderRow(Table, table=True):
    """What was ordered of a metal, and what became of it. ``lot``: on its way while it is placed. ``at``: when it
    was placed; ``arrives``: the day that was expected then. ``came``: what was weighed on arrival."""

    __tablename__: ClassVar[str] = "metal_order"
    __table_args__ = (
        *at_least(1, "mass"),
        *at_least(0, "cost", "came"),
        *checks(closed_when_not_placed="(closed_at IS NULL) = (state = 'placed')"),
    )

    id: int | None = Field(default=None, primary_key=True)
    at: datetime = kept(InstantColumn, default_factory=utc_now)
    lot: str = Field(foreign_key="lot.id", unique=True)
    metal: str = Field(foreign_key="metal.id")
    mass: Mass = kept(MassColumn)
    cost: Money = kept(MoneyColumn)
    arrives: str = kept(DayColumn)
    state: OrderState = kept(one_of(OrderState), default=OrderState.PLACED)
    came: Mass = kept(MassColumn, default=Mass(0))
    closed_at: datetime | None = kept(InstantColumn, nullable=True, default=None)
    key: str | None = Field(default=None, unique=True)


class PowderRow(Kept, table=True):
    __tablename__: ClassVar[str] = "powder"
    __table_args__ = (*at_least(0, "mass", "lead_days", "price"), *at_least(1, "pack", "price_mass"))

    investment: str = Field(primary_key=True, foreign_key="investment_kind.id")
    mass: Mass = kept(MassColumn)
    lead_days: int
    pack: Mass = kept(MassColumn)
    price: Money = kept(MoneyColumn)
    price_mass: Mass = kept(MassColumn)


class JobRow(Entity, table=True):
    __tablename__: ClassVar[str] = "job"
    __table_args__ = (
        *at_least(1, "quantity", "weight", "pattern_mass", "metal_volume", "size_width", "size_height", "size_reach"),
        *checks(mass_or_volume="(pattern_mass IS NULL) <> (metal_volume IS NULL)"),
    )

    customer: str = ""
    item: str
    alloy: str = Field(foreign_key="alloy.id", index=True)
    section: Section = kept(one_of(Section))
    material: str = Field(foreign_key="pattern_material.id")
    quantity: int
    pattern_mass: Mass | None = kept(MassColumn, nullable=True, default=None)
    metal_volume: Volume | None = kept(VolumeColumn, nullable=True, default=None)
    size_width: Length = kept(LengthColumn)
    size_height: Length = kept(LengthColumn)
    size_reach: Length = kept(LengthColumn)
    ready: str = kept(DayColumn)
    due: str = kept(DayColumn)
    weight: int = 1
    may_split: bool = True
    own_metal: str | None = Field(default=None, foreign_key="lot.id")
    per_tree: Mapping[str, int] = kept(JsonOf(dict[str, int]), default_factory=dict)
    notes: str = ""
