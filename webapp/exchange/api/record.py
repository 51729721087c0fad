"""What the record says, the work of a day, where metal went and what was lost, and the bench calculators."""

from __future__ import annotations

from pydantic import Field

from webapp.exchange.api.base import Sent, Told
from webapp.exchange.fields import Grams
from webapp.exchange.plain import Day, Name, Text, Whole


class SuggestionDocument(Told):
    mark: Text = Field(description="Names the suggestion; other casts or another value get another one")
    subject: Name = Field(description="Name of the machine, alloy or flask size")
    says: Text = Field(description="What the record says, in words")
    planned: Text = Field(description="What the plan uses now")
    use: Text = Field(description="What it would use")


class SuggestionList(Told):
    casts: Whole = Field(description="How many casts were looked at")
    items: tuple[SuggestionDocument, ...]


class Decided(Sent):
    mark: Text = Field(description="The mark of the suggestion")
    accept: bool = Field(description="True to take it over, false to keep what is planned")
    note: str = Field("", max_length=400, pattern=r"^[^\x00]*$", description="Why")


class TaskDocument(Told):
    doing: Name = Field(description="invest, load, start, weigh, cast, quench or knockout")
    at: Text = Field(description="When it begins, in the shop's local time")
    until: Text = Field(description="When it ends, in the shop's local time")
    flasks: tuple[Name, ...] = Field(description="Ids of its flasks: one, or all of a kiln load")
    load: Name | None = Field(description="Id of the kiln load")
    stage: Text = Field(description="The stage that doing it records; empty where nothing is recorded")
    done: bool
    late: bool
    next: bool = Field(description="True for the first that can be done now")
    waits: Text = Field(description="What must be done before; empty where nothing must")


class TaskList(Told):
    day: Day
    items: tuple[TaskDocument, ...] = Field(description="In the order of the clock")


class AccountAddress(Told):
    kind: Name = Field(description="Kind of account")
    ref: Text = Field(description="Which of that kind; empty for the only one")


class CustodyEnd(AccountAddress):
    mass_ng: int = Field(description="How much of the metal, in nanograms")


class CustodyStep(Told):
    step: Whole
    entry: int = Field(description="Number of the entry")
    at: Text = Field(description="When, in UTC")
    kind: Name = Field(description="What happened")
    from_kind: Name
    from_ref: Text
    to_kind: Name
    to_ref: Text
    mass_ng: int = Field(description="How much of the metal moved, in nanograms")
    share_ppm: int = Field(description="Of the whole, in millionths")


class CustodyDocument(Told):
    format: Name
    version: Whole
    direction: Name = Field(description="back to where it came from, forth to where it went")
    account: AccountAddress
    mass_mg: int = Field(description="What the account holds or held, in milligrams")
    whole: bool = Field(description="False where the history is too long to follow to its end")
    ends: tuple[CustodyEnd, ...] = Field(description="Accounts where the way ends")
    steps: tuple[CustodyStep, ...]


class LossDocument(Told):
    month: Text = Field(description="As in 2026-03")
    alloy: Name = Field(description="Id of the alloy")
    flasks: Whole = Field(description="How many were cast")
    charged: Grams = Field(description="Weighed into the crucible, in g")
    castings: Grams = Field(description="Castings, in g")
    returned: Grams = Field(description="Button and sprues, in g")
    lost: float = Field(description="Charge without castings and returns, in g")
    share_ppm: int = Field(description="What was lost, in millionths of the charge")


class OddCast(Told):
    flask: Name
    alloy: Name = Field(description="Id of the alloy")
    day: Day
    share_ppm: int = Field(description="What was lost, in millionths of the charge")


class LossList(Told):
    items: tuple[LossDocument, ...] = Field(description="By month and alloy, the newest first")
    odd: tuple[OddCast, ...] = Field(description="Casts outside the limits of the shop's own history")


class BackFromFlask(Told):
    flask: Name
    mass: Grams = Field(description="Button and sprues weighed and not back on the shelf, in g")


class SpentLotDocument(Told):
    lot: Name
    mass: Grams = Field(description="What it holds, in g")
    why: Text = Field(description="Why no charge may take it")


class BackDocument(Told):
    weighed: tuple[BackFromFlask, ...]
    spent: tuple[SpentLotDocument, ...] = Field(description="Lots that should go to the refiner")
    refiner: Grams = Field(description="What waits for the refiner, in g")


class PriceDocument(Told):
    metal: Name = Field(description="Id of the metal")
    name: Text
    price: float = Field(description="Price of that mass, in the shop's currency")
    mass: Grams = Field(description="Mass that the price is for, in g")


class PriceList(Told):
    currency: Name
    items: tuple[PriceDocument, ...]


class PriceWanted(Sent):
    metal: Name = Field(description="Id of the metal")
    price: float = Field(ge=0, le=10_000_000, allow_inf_nan=False, description="Price of one unit, in the shop's currency")
    per: Name = Field("g", description="g, dwt, ozt or kg")


class PricesWanted(Sent):
    items: tuple[PriceWanted, ...] = Field(min_length=1, max_length=1000)


class Figures(Sent):
    fields: dict[str, Text] = Field(default_factory=dict, max_length=400, description="What is typed, by the name of its field")


class FieldDocument(Told):
    name: Name
    label: Text
    text: Text = Field(description="What was typed")
    hint: Text
    error: Text = Field(description="What is wrong with it; empty where nothing is")
    choices: tuple[Text, ...] = Field(description="What may be sent; empty where anything may be typed")


class AnswerTable(Told):
    caption: Text
    heads: tuple[Text, ...]
    rows: tuple[tuple[Text, ...], ...]


class AnswerDocument(Told):
    fields: tuple[FieldDocument, ...] = Field(description="The fields of the calculator, those that repeat with their number")
    missing: tuple[Text, ...] = Field(description="Fields that are still to be given")
    facts: dict[str, Text] = Field(description="What was asked for, by name")
    tables: tuple[AnswerTable, ...]
    notes: tuple[Text, ...]
    cautions: tuple[Text, ...]
    refusal: Text = Field(description="Why it cannot be done, and what would mend it; empty where it can")
