"""Jobs, metals, lots and powder."""

from collections.abc import Mapping
from typing import ClassVar

from sqlmodel import Field

from domain.shop.alloy import Section
from domain.shop.lots import MetalKind
from domain.sources import Source
from domain.units import Length, Mass, Money, Share, Volume
from webapp.store.columns import (
    DayColumn,
    JsonOf,
    LengthColumn,
    MassColumn,
    MoneyColumn,
    VolumeColumn,
    at_least,
    checks,
    kept,
    one_of,
)
from webapp.store.tables.base import Entity, Kept

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
    """``mass``: what the lot's account holds by the books, kept in the same transaction."""

    __tablename__: ClassVar[str] = "lot"
    __table_args__ = at_least(0, "mass", "melts", "cost")

    name: str
    kind: MetalKind = kept(one_of(MetalKind))
    composition: Mapping[str, Share] = kept(COMPOSITION)
    mass: Mass = kept(MassColumn)
    melts: int = 0
    metal: str | None = Field(default=None, foreign_key="metal.id")
    alloy: str | None = Field(default=None, foreign_key="alloy.id")
    owner_job: str | None = None
    since: str = kept(DayColumn(empty=""), nullable=True, default="")
    arrives: str | None = kept(DayColumn, nullable=True, default=None)
    cost: Money = kept(MoneyColumn, default=Money(0))


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
