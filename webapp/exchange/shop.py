"""Documents of the shop: its rules, machines and people."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from domain.shop.alloy import Heat
from domain.shop.casting import CastingMachine, DayHours, MachineKind, Person, Shift, Weekday
from domain.shop.shop import Shop, ShopRules
from domain.units import Length, Mass, Share
from webapp.exchange.document import Document
from webapp.exchange.fields import Millimetres, Percent, PositiveCm3, PositiveGrams, PositiveMillimetres
from webapp.exchange.metal import AlloyDocument, MetalDocument, Sources
from webapp.exchange.mould import (
    SOURCES,
    BurnoutProgramDocument,
    FlaskSizeDocument,
    InvestmentKindDocument,
    KilnDocument,
    OutageDocument,
    PatternMaterialDocument,
)
from webapp.exchange.plain import Count, Day, Flag, InOrder, MinuteOfDay, Minutes, Name, Timezone, Whole


class CastingMachineDocument(Document[CastingMachine]):
    id: Name = Field(description="The machine's id, used by flasks of a plan")
    name: Name = Field(description="The machine's name as people say it")
    kind: MachineKind = Field(description="How it drives metal into the mould")
    heat: Heat = Field(description="How it melts")
    fits: Annotated[frozenset[Name], InOrder] = Field(description="Ids of the flask sizes it takes")
    crucible_mass: PositiveGrams = Field(description="Crucible limit by mass of melt, in g")
    crucible_volume: PositiveCm3 = Field(description="Crucible limit by volume of melt, in cm³")
    minutes_per_cast: Count = Field(description="From one flask to the next with the same crucible, in minutes")
    people: Whole = Field(1, description="How many casters it asks for, persons")
    arm_radius: PositiveMillimetres | None = Field(None, description="From the axis to the mould, in mm; none without an arm")
    speed_rpm: Count | None = Field(None, description="Speed of the arm, in turns a minute; none without an arm")
    in_service: Flag = Field(True, description="False while the machine is not used")
    outages: tuple[OutageDocument, ...] = Field((), description="Days on which it is not in service")
    sources: Sources = Field(default_factory=dict, description=SOURCES)


class ShiftDocument(Document[Shift]):
    day: Weekday = Field(description="Day of the week")
    opens: MinuteOfDay = Field(description="Start, in minutes after local midnight")
    closes: MinuteOfDay = Field(description="End, in minutes after local midnight")


class DayHoursDocument(Document[DayHours]):
    day: Day = Field(description="The day, an ISO date")
    opens: MinuteOfDay = Field(description="Start, in minutes after local midnight")
    closes: MinuteOfDay = Field(description="End, in minutes after local midnight")


class PersonDocument(Document[Person]):
    id: Name = Field(description="The person's id, used by flasks of a plan")
    name: Name = Field(description="The person's name")
    casts: Flag = Field(description="True where the person may stand at a casting machine")
    shifts: tuple[ShiftDocument, ...] = Field(description="Working hours in an ordinary week")
    away: tuple[OutageDocument, ...] = Field((), description="Holidays and illness")
    other_hours: tuple[DayHoursDocument, ...] = Field((), description="Days on which these hours hold, whatever the week says")


class ShopRulesDocument(Document[ShopRules]):
    timezone: Timezone = Field("UTC", description="The shop's time zone, an IANA name such as Europe/Vienna")
    piece_gap: Millimetres = Field(Length(3_000), description="Room between pieces in a ring, in mm")
    ring_gap: Millimetres = Field(Length(3_000), description="Room between rings, in mm")
    wall_clearance: Millimetres = Field(Length(6_000), description="Room from the tree to the flask wall, in mm")
    top_clearance: Millimetres = Field(Length(15_000), description="Room above the tip of the tree, in mm")
    feed_length: Millimetres = Field(Length(8_000), description="Length of one feed sprue, in mm")
    feed_diameter: Millimetres = Field(Length(3_000), description="Diameter of one feed sprue, in mm")
    button_share: Percent = Field(
        Share(100_000), description="Share of pieces, feeds and trunk added to the button, on top of its fixed volume, in %"
    )
    invest_minutes: Minutes = Field(15, description="Investing one flask, in minutes")
    knockout_minutes: Minutes = Field(5, description="Knocking one flask out, in minutes")
    soak_minutes: Minutes = Field(60, description="Soak at flask temperature before the first cast, in minutes")
    step_soak_minutes: Minutes = Field(30, description="Soak after each step down to a colder flask temperature, in minutes")
    hot_hold_minutes: Minutes = Field(600, description="How long a flask may wait hot after its program's end, in minutes")
    crucible_change_minutes: Minutes = Field(10, description="Changing the crucible for another alloy family, in minutes")
    clean_minutes: Minutes = Field(1_440, description="Until buttons and sprues are clean and back on the shelf, in minutes")
    overtime_minutes: Minutes = Field(120, description="Overtime a day at most, in minutes")
    horizon_days: Annotated[Count, Field(le=120)] = Field(
        14, description="How far a plan looks ahead, in calendar days, today included"
    )
    scale_step: PositiveGrams = Field(Mass(10), description="The step of the scale that charges are weighed on, in g")
    currency: Name = Field("EUR", description="The shop's currency")


class ShopDocument(Document[Shop]):
    rules: ShopRulesDocument = Field(description="The shop's own rules; times in minutes, lengths in mm")
    alloys: tuple[AlloyDocument, ...] = Field(description="Alloys that the shop casts")
    materials: tuple[PatternMaterialDocument, ...] = Field(description="What patterns are made of")
    sizes: tuple[FlaskSizeDocument, ...] = Field(description="Flask sizes that the shop owns")
    investments: tuple[InvestmentKindDocument, ...] = Field(description="Investment kinds")
    programs: tuple[BurnoutProgramDocument, ...] = Field(description="Burnout programs")
    kilns: tuple[KilnDocument, ...] = Field(description="Burnout kilns")
    machines: tuple[CastingMachineDocument, ...] = Field(description="Casting machines")
    people: tuple[PersonDocument, ...] = Field(description="Casters and helpers with their working hours")
    closures: tuple[OutageDocument, ...] = Field(description="Days on which the whole shop is closed")
    metals: tuple[MetalDocument, ...] = Field(description="Metals that can be bought")
