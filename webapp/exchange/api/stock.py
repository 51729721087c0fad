"""Metal, powder and consumables as they move, are ordered and arrive."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from webapp.exchange.api.base import Sent, Told
from webapp.exchange.fields import Amounts, CurrencyUnits, Grams, PositiveAmounts, PositiveGrams
from webapp.exchange.plain import Day, Name, Text, Whole


class MassMoved(Sent):
    kind: Literal["receipt", "issue", "return", "count", "given back", "refiner"] = Field(
        description="receipt: received; issue: taken out; return: came back; count: this is what is there"
    )
    mass: Grams = Field(description="What came or went, or for a count what is there, in g")
    reason: Text = Field("", description="For a count: why it differs, a reason of the list on the screen")
    note: Text = Field("", description="Anything to remember")


class AmountMoved(Sent):
    kind: Literal["receipt", "issue", "return", "count"] = Field(
        description="receipt: received; issue: taken out; return: came back; count: this is what is there"
    )
    amount: Amounts = Field(description="What came or went, or for a count what is there, in the thing's own unit")
    reason: Text = Field("", description="For a count: why it differs, a reason of the list on the screen")
    note: Text = Field("", description="Anything to remember")


class MetalPositionDocument(Told):
    key: Name = Field(description="Id of the metal; recycled/ and an alloy's id; or lot/ and a lot's id")
    name: Name = Field(description="Its name")
    shelf: Grams = Field(description="On the shelf today, in g")
    needed: Grams = Field(description="Charged within the days planned, in g")
    delivered: Grams = Field(description="Delivered within these days, in g")
    returned: Grams = Field(description="Back from casts within these days, in g")
    low: float = Field(description="The least that is left in the evening of any day, in g")
    low_day: Text = Field(description="First day of that, an ISO date")


class ToOrderDocument(Told):
    metal: Name = Field(description="Id of the metal")
    name: Name = Field(description="Its name")
    needed: Grams = Field(description="What the plan needs of it, in g")
    mass: Grams = Field(description="What to order, in whole packs, in g")
    cost: CurrencyUnits = Field(description="What that costs by the list, in units of the shop's currency")
    order_by: Day = Field(description="Last day to order on, an ISO date")
    arrives: Day = Field(description="Day on which it is then here, an ISO date")
    flasks: tuple[Name, ...] = Field(description="Ids of the flasks that wait for it")


class ComingDocument(Told):
    lot: Name = Field(description="Id of the lot that it becomes")
    name: Name = Field(description="Its name")
    metal: Name | None = Field(description="Id of the metal")
    mass: Grams = Field(description="What is on its way, in g")
    arrives: Day = Field(description="Day on which it is expected, an ISO date")


class MetalDocumentOfWeek(Told):
    currency: Name = Field(description="The shop's currency")
    positions: tuple[MetalPositionDocument, ...] = Field(description="Metal by metal under the current plan")
    to_order: tuple[ToOrderDocument, ...] = Field(description="What the current plan needs ordered")
    coming: tuple[ComingDocument, ...] = Field(description="What is on its way")


class MetalWanted(Sent):
    metal: Name = Field(description="Id of the metal that was ordered")
    mass: PositiveGrams = Field(description="What was ordered, in g")
    arrives: Day = Field(description="Day on which it is expected, an ISO date")
    price: CurrencyUnits | None = Field(None, description="What all of it costs, in units of the currency; left out: by the list")


class MetalCame(Sent):
    mass: PositiveGrams = Field(description="What came, weighed, in g")
    rest: Day | None = Field(None, description="Day on which what is missing comes; left out: it does not come")


class SupplyDocument(Told):
    kind: Name = Field(description="powder, or another consumable")
    ref: Name = Field(description="Id of the investment kind, or of the consumable")
    name: Name = Field(description="Its name")
    unit: Name = Field(description="What it is counted in")
    amount: Amounts = Field(description="On the shelf, in its own unit")
    needed: Amounts = Field(description="What the plan uses up, in its own unit")
    coming: Amounts = Field(description="On its way, in its own unit")
    order: Amounts = Field(description="What to order, in whole packs, in its own unit; 0 for nothing")
    cost: CurrencyUnits = Field(description="What that costs, in units of the shop's currency")
    order_by: Day | None = Field(description="Last day to order on, an ISO date")


class DeliveryDocument(Told):
    number: Whole = Field(description="Number of the delivery")
    kind: Name = Field(description="powder, or another consumable")
    ref: Name = Field(description="Id of the investment kind, or of the consumable")
    name: Name = Field(description="Its name")
    amount: Amounts = Field(description="What is on its way, in its own unit")
    arrives: Day = Field(description="Day on which it is expected, an ISO date")


class SupplyList(Told):
    items: tuple[SupplyDocument, ...]
    deliveries: tuple[DeliveryDocument, ...] = Field(description="What is on its way")


class SupplyWanted(Sent):
    kind: Literal["powder", "consumable"] = Field(description="powder, or another consumable")
    ref: Name = Field(description="Id of the investment kind, or of the consumable")
    amount: PositiveAmounts = Field(description="What was ordered, in its own unit; powder in g")
    arrives: Day = Field(description="Day on which it is expected, an ISO date")
    price: CurrencyUnits | None = Field(None, description="What all of it costs, in units of the currency; left out: by the list")


class SupplyCame(Sent):
    amount: PositiveAmounts = Field(description="What came, in its own unit; powder in g")
