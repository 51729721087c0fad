"""What the shop owns and knows: one column for each scalar, JSON for small owned lists."""

from collections.abc import Mapping
from typing import ClassVar

from sqlmodel import Field

from domain.shop.alloy import Bond, CoolingRule, ElementRange, FinenessStandard, Heat, Section, Suitability
from domain.shop.burnout import Outage, Segment
from domain.shop.casting import DayHours, MachineKind, Shift
from domain.sources import Source
from domain.units import Density, Length, Mass, Share, Temperature, TemperatureRange, Volume
from webapp.store.columns import (
    DayColumn,
    DensityColumn,
    JsonOf,
    LengthColumn,
    MassColumn,
    ShareColumn,
    TemperatureColumn,
    VolumeColumn,
    at_least,
    checks,
    kept,
    one_of,
)
from webapp.store.tables.base import Entity, Kept

SOURCES = JsonOf(dict[str, Source])
OUTAGES = JsonOf(tuple[Outage, ...])


class AlloyRow(Entity, table=True):
    __tablename__: ClassVar[str] = "alloy"
    __table_args__ = (
        *at_least(1, "density"),
        *at_least(0, "melts_limit"),
        *checks(
            melting_order="melting_low <= melting_high",
            pour_order="pour_low <= pour_high",
            melt_loss_share="melt_loss >= 0 AND melt_loss < 1000000",
            recycled_share="recycled_limit >= 0 AND recycled_limit <= 1000000",
        ),
    )

    name: str
    family: str
    colour: str
    composition: tuple[ElementRange, ...] = kept(JsonOf(tuple[ElementRange, ...]))
    standard: FinenessStandard | None = kept(JsonOf(FinenessStandard | None), nullable=True, default=None)
    density: Density = kept(DensityColumn)
    density_estimated: bool = False
    melting_low: Temperature = kept(TemperatureColumn)
    melting_high: Temperature = kept(TemperatureColumn)
    pour_low: Temperature = kept(TemperatureColumn)
    pour_high: Temperature = kept(TemperatureColumn)
    flask_temperature: Mapping[Section, TemperatureRange] = kept(JsonOf(dict[Section, TemperatureRange]))
    melt_loss: Share = kept(ShareColumn)
    losses: Mapping[str, Share] = kept(JsonOf(dict[str, Share]), default_factory=dict)
    recycled_limit: Share = kept(ShareColumn)
    melts_limit: int
    cooling: CoolingRule = kept(JsonOf(CoolingRule))
    heat: frozenset[Heat] = kept(JsonOf(frozenset[Heat]))
    investment: Mapping[Bond, Suitability] = kept(JsonOf(dict[Bond, Suitability]))
    cautions: tuple[str, ...] = kept(JsonOf(tuple[str, ...]), default=())
    sources: Mapping[str, Source] = kept(SOURCES, default_factory=dict)


class MaterialRow(Entity, table=True):
    __tablename__: ClassVar[str] = "pattern_material"
    __table_args__ = (*at_least(1, "density"), *at_least(0, "burnout_minutes"))

    name: str
    density: Density = kept(DensityColumn)
    burnout_minutes: int
    burnout_peak: Temperature = kept(TemperatureColumn)
    fume: bool = False
    sources: Mapping[str, Source] = kept(SOURCES, default_factory=dict)


class FlaskSizeRow(Entity, table=True):
    __tablename__: ClassVar[str] = "flask_size"
    __table_args__ = (
        *at_least(1, "inner_diameter", "height", "trunk_diameter"),
        *at_least(0, "wall", "owned", "burnout_minutes", "cost", "base_height", "button_volume"),
    )

    name: str
    inner_diameter: Length = kept(LengthColumn)
    height: Length = kept(LengthColumn)
    wall: Length = kept(LengthColumn)
    perforated: bool
    owned: int
    burnout_minutes: int
    cost: int
    base_height: Length = kept(LengthColumn)
    trunk_diameter: Length = kept(LengthColumn)
    button_volume: Volume = kept(VolumeColumn)
    sources: Mapping[str, Source] = kept(SOURCES, default_factory=dict)


class InvestmentKindRow(Entity, table=True):
    __tablename__: ClassVar[str] = "investment_kind"
    __table_args__ = (
        *at_least(1, "water", "slurry_yield"),
        *at_least(0, "waste", "working_minutes", "gloss_off_minutes", "bench_set_minutes"),
        *checks(bench_limit_after_set="bench_limit_minutes >= bench_set_minutes"),
    )

    name: str
    bond: Bond = kept(one_of(Bond))
    water: Share = kept(ShareColumn)
    slurry_yield: Volume = kept(VolumeColumn)
    waste: Share = kept(ShareColumn)
    working_minutes: int
    gloss_off_minutes: int
    bench_set_minutes: int
    bench_limit_minutes: int
    peak: Temperature = kept(TemperatureColumn)
    liquid: str = "water"
    sources: Mapping[str, Source] = kept(SOURCES, default_factory=dict)


class ProgramRow(Entity, table=True):
    __tablename__: ClassVar[str] = "burnout_program"

    name: str
    segments: tuple[Segment, ...] = kept(JsonOf(tuple[Segment, ...]))
    bonds: frozenset[Bond] = kept(JsonOf(frozenset[Bond]))
    sources: Mapping[str, Source] = kept(SOURCES, default_factory=dict)


class KilnRow(Entity, table=True):
    __tablename__: ClassVar[str] = "kiln"
    __table_args__ = (*at_least(1, "width", "depth", "height", "fastest_ramp"), *at_least(0, "gap", "cooldown_minutes", "cost"))

    name: str
    width: Length = kept(LengthColumn)
    depth: Length = kept(LengthColumn)
    height: Length = kept(LengthColumn)
    gap: Length = kept(LengthColumn)
    top_temperature: Temperature = kept(TemperatureColumn)
    fastest_ramp: int
    in_service: bool
    unattended: bool
    cooldown_minutes: int
    cost: int
    outages: tuple[Outage, ...] = kept(OUTAGES, default=())
    nights: tuple[str, ...] = kept(JsonOf(tuple[str, ...]), default=(), sa_column_kwargs={"server_default": "[]"})
    sources: Mapping[str, Source] = kept(SOURCES, default_factory=dict)


class MachineRow(Entity, table=True):
    __tablename__: ClassVar[str] = "casting_machine"
    __table_args__ = at_least(1, "crucible_mass", "crucible_volume", "minutes_per_cast", "people", "arm_radius", "speed_rpm")

    name: str
    kind: MachineKind = kept(one_of(MachineKind))
    heat: Heat = kept(one_of(Heat))
    fits: frozenset[str] = kept(JsonOf(frozenset[str]))
    crucible_mass: Mass = kept(MassColumn)
    crucible_volume: Volume = kept(VolumeColumn)
    minutes_per_cast: int
    people: int = 1
    arm_radius: Length | None = kept(LengthColumn, nullable=True, default=None)
    speed_rpm: int | None = None
    in_service: bool = True
    outages: tuple[Outage, ...] = kept(OUTAGES, default=())
    sources: Mapping[str, Source] = kept(SOURCES, default_factory=dict)


class PersonRow(Entity, table=True):
    __tablename__: ClassVar[str] = "person"

    name: str
    casts: bool
    shifts: tuple[Shift, ...] = kept(JsonOf(tuple[Shift, ...]))
    away: tuple[Outage, ...] = kept(OUTAGES, default=())
    other_hours: tuple[DayHours, ...] = kept(JsonOf(tuple[DayHours, ...]), default=(), sa_column_kwargs={"server_default": "[]"})


class ClosureRow(Kept, table=True):
    """Days on which the whole shop is closed."""

    __tablename__: ClassVar[str] = "closure"
    __table_args__ = checks(day_order="first <= last")

    id: int | None = Field(default=None, primary_key=True)
    first: str = kept(DayColumn)
    last: str = kept(DayColumn)
    reason: str = ""


class RulesRow(Kept, table=True):
    """One row: the shop's own rules."""

    __tablename__: ClassVar[str] = "shop_rules"
    __table_args__ = (
        *checks(one_row="id = 1"),
        *at_least(1, "feed_diameter", "invest_minutes", "knockout_minutes", "horizon_days", "scale_step"),
        *at_least(0, "piece_gap", "ring_gap", "wall_clearance", "top_clearance", "feed_length", "button_share"),
        *at_least(0, "soak_minutes", "step_soak_minutes", "hot_hold_minutes", "crucible_change_minutes", "clean_minutes"),
        *at_least(0, "overtime_minutes"),
    )

    id: int = Field(default=1, primary_key=True)
    timezone: str
    piece_gap: Length = kept(LengthColumn)
    ring_gap: Length = kept(LengthColumn)
    wall_clearance: Length = kept(LengthColumn)
    top_clearance: Length = kept(LengthColumn)
    feed_length: Length = kept(LengthColumn)
    feed_diameter: Length = kept(LengthColumn)
    button_share: Share = kept(ShareColumn)
    invest_minutes: int
    knockout_minutes: int
    soak_minutes: int
    step_soak_minutes: int
    hot_hold_minutes: int
    crucible_change_minutes: int
    clean_minutes: int
    overtime_minutes: int
    horizon_days: int
    scale_step: Mass = kept(MassColumn)
    currency: str
