"""Documents of what is on the shelf."""

from __future__ import annotations

from pydantic import Field

from domain.shop.consumables import Consumable, CountedIn, UsedPer
from domain.shop.lots import Lot, MetalKind, Powder
from domain.units import Money
from webapp.exchange.document import Document
from webapp.exchange.fields import Amounts, BulkGrams, CurrencyUnits, Grams, PositiveAmounts, PositiveBulkGrams
from webapp.exchange.metal import Composition
from webapp.exchange.plain import Day, DayOrNone, Name, Whole


class LotDocument(Document[Lot]):
    id: Name = Field(description="The lot's id, written on its container")
    name: Name = Field(description="The lot's name as people say it")
    kind: MetalKind = Field(description="What sort of metal it is")
    composition: Composition = Field(description="Share of each element by mass, in %, by chemical symbol; adds up to 100 %")
    mass: Grams = Field(description="What is left of it, in g")
    melts: Whole = Field(0, description="How often it has been melted here, times; 0 for fresh metal")
    metal: Name | None = Field(None, description="Id of the bought metal that it is")
    alloy: Name | None = Field(None, description="Id of the alloy that it is, for grain and recycled metal")
    owner_job: Name | None = Field(
        None, description="Id of the job whose customer owns it; such metal is used for that job only, which may be done already"
    )
    since: DayOrNone = Field(
        "", description="Day it came on the shelf, an ISO date, or empty; the oldest recycled metal is used first"
    )
    arrives: Day | None = Field(None, description="Day a delivery on its way is expected, an ISO date; none for what is here")
    cost: CurrencyUnits = Field(
        Money(0), description="What one gram of it stands for in the books, in units of the shop's currency"
    )


class PowderDocument(Document[Powder]):
    investment: Name = Field(description="Id of the investment kind")
    mass: BulkGrams = Field(description="Powder on the shelf, in g")
    lead_days: Whole = Field(description="Working days from order to the shelf, in days")
    pack: PositiveBulkGrams = Field(description="The supplier's least step, in g")
    price: CurrencyUnits = Field(description="Price of price_mass, in units of the shop's currency")
    price_mass: PositiveBulkGrams = Field(description="The mass that the price is for, in g")


class ConsumableDocument(Document[Consumable]):
    id: Name = Field(description="The consumable's id")
    name: Name = Field(description="Its name as people say it")
    unit: CountedIn = Field(description="What it is counted in: g, l or pieces")
    per: UsedPer = Field(description="What uses it up")
    use: Amounts = Field(description="What one of these uses, in its own unit; part of a piece where one lasts for several")
    amount: Amounts = Field(description="What is on the shelf, in its own unit")
    pack: PositiveAmounts = Field(description="The supplier's pack, in its own unit")
    price: CurrencyUnits = Field(description="Price of one pack, in units of the shop's currency")
    lead_days: Whole = Field(description="Working days from order to the shelf, in days")
