"""Documents of patterns, flasks, investment and kilns."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from domain.shop.alloy import Bond
from domain.shop.burnout import BurnoutProgram, Kiln, Outage, Purpose, Segment
from domain.shop.flask import FlaskSize
from domain.shop.investment import InvestmentKind
from domain.shop.pattern import PatternMaterial, PieceSize
from webapp.exchange.document import Document
from webapp.exchange.fields import (
    Celsius,
    Cm3,
    GramsPerCm3,
    Millimetres,
    Percent,
    PositiveCm3,
    PositiveMillimetres,
    Ratio,
)
from webapp.exchange.metal import Sources
from webapp.exchange.plain import Count, Day, Flag, InOrder, Minutes, Name, Text, Whole

SOURCES = "Where each number comes from, by field name"


class PatternMaterialDocument(Document[PatternMaterial]):
    id: Name = Field(description="The material's id, used by jobs")
    name: Name = Field(description="The material's name as people say it")
    density: GramsPerCm3 = Field(description="Density of the pattern material, in g/cm³")
    burnout_minutes: Minutes = Field(description="Shortest program that removes it cleanly, in minutes")
    burnout_peak: Celsius = Field(description="Least peak of a program that removes it cleanly, in °C")
    fume: Flag = Field(False, description="True where burning it out calls for more air than wax does")
    sources: Sources = Field(default_factory=dict, description=SOURCES)


class PieceSizeDocument(Document[PieceSize]):
    width: PositiveMillimetres = Field(description="Room of one pattern along the ring, in mm")
    height: PositiveMillimetres = Field(description="Room of one pattern along the trunk, in mm")
    reach: PositiveMillimetres = Field(description="Room of one pattern away from the end of its feed sprue, in mm")


class FlaskSizeDocument(Document[FlaskSize]):
    id: Name = Field(description="The size's id, used by machines and jobs")
    name: Name = Field(description="The size's name as people say it")
    inner_diameter: PositiveMillimetres = Field(description="Inner diameter of the steel ring, in mm")
    height: PositiveMillimetres = Field(description="Height of the steel ring, in mm")
    wall: Millimetres = Field(description="Thickness of the steel, in mm")
    perforated: Flag = Field(description="True where the steel has holes, for vacuum casting")
    owned: Whole = Field(description="How many flasks of this size the shop has")
    burnout_minutes: Minutes = Field(description="Shortest program that burns this size out, in minutes")
    cost: Whole = Field(description="What filling one is worth in the plan's cost units")
    base_height: Millimetres = Field(description="How far the sprue base stands up into the flask, in mm")
    trunk_diameter: PositiveMillimetres = Field(description="Diameter of the sprue that the base carries, in mm")
    button_volume: Cm3 = Field(description="Fixed part of the button, in cm³")
    sources: Sources = Field(default_factory=dict, description=SOURCES)


class InvestmentKindDocument(Document[InvestmentKind]):
    id: Name = Field(description="The investment's id, used by powders and flasks")
    name: Name = Field(description="The investment's name as people say it")
    bond: Bond = Field(description="What binds it")
    water: Ratio = Field(description="Water, or special liquid, to powder by mass, in % (40 means 40 g to 100 g)")
    slurry_yield: PositiveCm3 = Field(description="Slurry that 100 g of powder with its water gives, in cm³")
    waste: Percent = Field(description="Spare that is mixed on top, in %")
    working_minutes: Minutes = Field(description="Time from first contact with water to the pour into the flask, in minutes")
    gloss_off_minutes: Minutes = Field(description="Time until it sets, in minutes")
    bench_set_minutes: Minutes = Field(description="Least rest before the kiln, in minutes")
    bench_limit_minutes: Minutes = Field(description="Longest rest before the kiln without being kept moist, in minutes")
    peak: Celsius = Field(description="Above this the mould breaks down, in °C")
    liquid: Text = Field("water", description="What it is mixed with")
    sources: Sources = Field(default_factory=dict, description=SOURCES)


class SegmentDocument(Document[Segment]):
    target: Celsius = Field(description="Temperature to reach, in °C")
    ramp_minutes: Minutes = Field(description="Time to reach it, in minutes")
    hold_minutes: Minutes = Field(description="Time to hold it, in minutes")
    purpose: Purpose = Field(description="What the segment is for")


class BurnoutProgramDocument(Document[BurnoutProgram]):
    id: Name = Field(description="The program's id, used by kiln loads")
    name: Name = Field(description="The program's name as people say it")
    segments: Annotated[tuple[SegmentDocument, ...], Field(min_length=1)] = Field(
        description="Segments in their order, without the soak at flask temperature that follows"
    )
    bonds: Annotated[frozenset[Bond], InOrder] = Field(description="Bonds of the investments that it is written for")
    sources: Sources = Field(default_factory=dict, description=SOURCES)


class OutageDocument(Document[Outage]):
    first: Day = Field(description="First day out of service, an ISO date")
    last: Day = Field(description="Last day out of service, an ISO date, included")
    reason: Text = Field("", description="Why, in a few words")


class KilnDocument(Document[Kiln]):
    id: Name = Field(description="The kiln's id, used by kiln loads")
    name: Name = Field(description="The kiln's name as people say it")
    width: PositiveMillimetres = Field(description="Width of the usable floor, in mm")
    depth: PositiveMillimetres = Field(description="Depth of the usable floor, in mm")
    height: PositiveMillimetres = Field(description="Height of the chamber, in mm")
    gap: Millimetres = Field(description="Room between flasks and to the walls, in mm")
    top_temperature: Celsius = Field(description="Hottest that the kiln may run, in °C")
    fastest_ramp: Count = Field(description="Fastest ramp, in °C an hour")
    in_service: Flag = Field(description="False while the kiln is not used")
    unattended: Flag = Field(
        description="True where it may run with nobody in the shop, if fire code, landlord and insurer allow it"
    )
    cooldown_minutes: Minutes = Field(description="From the last flask out until the next load may go in, in minutes")
    cost: Whole = Field(description="What one load is worth in the plan's cost units")
    outages: tuple[OutageDocument, ...] = Field((), description="Days on which it is not in service")
    nights: tuple[Day, ...] = Field(
        (), description="Days (ISO dates) on whose night it may run with nobody in the shop, if that is allowed, until noon"
    )
    sources: Sources = Field(default_factory=dict, description=SOURCES)
