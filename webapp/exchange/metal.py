"""Documents of alloys and of metal that can be bought."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from domain.shop.alloy import (
    Alloy,
    Bond,
    CoolingMethod,
    CoolingRule,
    ElementRange,
    FinenessStandard,
    Heat,
    Section,
    Suitability,
)
from domain.shop.lots import Metal, MetalKind
from domain.sources import Mark, Source
from domain.units import TemperatureRange
from webapp.exchange.document import Document
from webapp.exchange.fields import Celsius, CurrencyUnits, GramsPerCm3, MeltLoss, Percent, Permille, PositiveGrams
from webapp.exchange.plain import Flag, InOrder, Minutes, Name, Text, Whole


class SourceDocument(Document[Source]):
    mark: Mark = Field(description="How well founded the number is")
    note: Text = Field("", description="The publication, or how a computed value was had")


class TemperatureRangeDocument(Document[TemperatureRange]):
    low: Celsius = Field(description="Lower end, in °C, included")
    high: Celsius = Field(description="Upper end, in °C, included")


class ElementRangeDocument(Document[ElementRange]):
    element: Name = Field(description="Chemical symbol of the element, such as Ag")
    low: Percent = Field(description="Least share by mass, in %")
    high: Percent = Field(description="Greatest share by mass, in %")


class FinenessStandardDocument(Document[FinenessStandard]):
    element: Name = Field(description="Chemical symbol of the precious metal")
    minimum: Permille = Field(description="Least share of the precious metal by mass, in ‰; there is no minus tolerance")


class CoolingRuleDocument(Document[CoolingRule]):
    method: CoolingMethod = Field(description="What happens after the pour")
    wait_minutes: Minutes = Field(description="Least time from the pour to the quench, or to knock-out when air cooled, in minutes")
    not_above: Celsius | None = Field(
        None, description="Hottest flask that may be quenched, in °C; none where the alloy has no such limit"
    )
    not_below: Celsius | None = Field(
        None, description="Coldest flask that may be quenched, in °C; none where the alloy has no such limit"
    )
    note: Text = Field("", description="What else to mind while it cools")


Sources = dict[Name, SourceDocument]
Composition = dict[Name, Percent]


class AlloyDocument(Document[Alloy]):
    id: Name = Field(description="The alloy's id, used by jobs, lots and metals")
    name: Name = Field(description="The alloy's name as people say it")
    family: Name = Field(description="Crucible family: crucibles are not shared between families")
    colour: Name = Field(description="The alloy's colour in a word")
    composition: tuple[ElementRangeDocument, ...] = Field(description="Allowed share of each element by mass, in %")
    standard: FinenessStandardDocument | None = Field(description="The fineness a casting must have (in ‰); none for base metal")
    density: GramsPerCm3 = Field(description="Density of the solid alloy, in g/cm³")
    density_estimated: Flag = Field(False, description="True where the density is an estimate from the composition")
    melting: TemperatureRangeDocument = Field(description="Solidus to liquidus, in °C")
    pour: TemperatureRangeDocument = Field(description="Metal temperature at the pour, in °C")
    flask_temperature: dict[Section, TemperatureRangeDocument] = Field(
        description="Mould temperature at the pour, in °C, for each section: thin, medium and heavy"
    )
    melt_loss: MeltLoss = Field(description="Share of the whole charge that the melt does not give back, in %")
    losses: dict[Name, Percent] = Field(
        default_factory=dict, description="Share of each element lost in one melt, in %, by chemical symbol"
    )
    recycled_limit: Percent = Field(description="Greatest share of recycled metal in a charge, in %")
    melts_limit: Whole = Field(description="How often recycled metal may have been melted, times")
    cooling: CoolingRuleDocument = Field(description="What happens after the pour")
    heat: Annotated[frozenset[Heat], InOrder] = Field(description="How this alloy may be melted")
    investment: dict[Bond, Suitability] = Field(description="Whether each kind of investment suits this alloy, by its bond")
    cautions: tuple[Text, ...] = Field((), description="Marks that checklists look for, such as zinc fume")
    sources: Sources = Field(default_factory=dict, description="Where each number comes from, by field name")


class MetalDocument(Document[Metal]):
    id: Name = Field(description="The metal's id, used by lots and orders")
    name: Name = Field(description="What the supplier's price list calls it")
    kind: MetalKind = Field(description="What sort of metal it is")
    composition: Composition = Field(description="Share of each element by mass, in %, by chemical symbol; adds up to 100 %")
    price: CurrencyUnits = Field(description="Price of price_mass, in units of the shop's currency")
    price_mass: PositiveGrams = Field(description="The mass that the price is for, in g")
    lead_days: Whole | None = Field(
        description="Working days from order to the shelf, in days; none where nobody sells it to this shop"
    )
    pack: PositiveGrams = Field(description="The supplier's least step, in g")
    alloy: Name | None = Field(None, description="Id of the alloy that a casting grain already is")
    family: Name | None = Field(None, description="Crucible family that a master alloy is made for; none: offered to any alloy")
    sources: Sources = Field(default_factory=dict, description="Where each number comes from, by field name")
