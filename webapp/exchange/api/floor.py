"""Flasks: what is planned for each, what was recorded of it, and its checklists."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from webapp.exchange.api.base import Sent, Told
from webapp.exchange.fields import Celsius, Grams, PositiveGrams
from webapp.exchange.plain import Count, Day, Flag, Name, Text, Whole

Reading = Annotated[str, Field(max_length=200)]
StageName = Literal["invested", "loaded", "started", "cast", "quenched", "knocked out"]
MOMENT = "in the shop's local time"


class FlaskDocument(Told):
    id: Name = Field(description="The flask's id")
    alloy: Name = Field(description="Id of the alloy, with the lot behind a slash for a customer's own metal")
    size: Name = Field(description="Id of the flask size")
    investment: Name = Field(description="Id of the investment kind")
    pieces: dict[Name, Count] = Field(description="How many pieces of each job it holds, by the job's id")
    temperature: Celsius = Field(description="Mould temperature at the pour, in °C")
    charge: Grams = Field(description="Metal to weigh, in g")
    load: Name = Field(description="Id of the kiln load that it rides")
    machine: Name = Field(description="Id of the casting machine")
    people: tuple[Name, ...] = Field(description="Ids of the people who cast it")
    invest_at: Text = Field(description=f"Investing starts, {MOMENT}")
    cast_at: Text = Field(description=f"The cast slot starts, {MOMENT}")
    out_at: Text = Field(description=f"It is knocked out and back on the shelf, {MOMENT}")
    stage: Text = Field(description="What has happened to it last; empty for nothing yet")
    pinned: Text | None = Field(description="Why it is pinned; none where it is not")


class FlaskList(Told):
    version: Whole = Field(description="Version of the plan; 0 where there is none yet")
    items: tuple[FlaskDocument, ...] = Field(description="Flasks by their cast slot; empty until the week is planned")


class AskedDocument(Told):
    name: Name = Field(description="Name of the reading")
    label: Text = Field(description="What it is")
    kind: Name = Field(description="mass, temperature, pressure, minutes, count, moment, choice or yes")
    required: bool = Field(description="True where nothing is recorded without it")
    says: Text = Field(description="A hint, or what is confirmed with yes")
    choices: tuple[Text, ...] = Field(description="For a choice: what may be sent")


class StageAsked(Told):
    stage: StageName
    asks: tuple[AskedDocument, ...] = Field(description="What is to be read and sent with it")
    waits: Text = Field(description="What must be recorded first; empty where nothing")


class StageDone(Sent):
    stage: StageName = Field(description="What has happened to the flask")
    readings: dict[Name, Reading] = Field(
        default_factory=dict,
        description="What was read, by name, as it is typed on the screen: “610 C”, “2.4 kg”, “yes”, “14:05”; see what is asked",
    )
    sure: Reading | Literal[""] = Field("", description="The text that an earlier answer asked to be sent back")


class RecordDocument(Told):
    number: Whole = Field(description="Number of the row")
    stage: Name = Field(description="What happened")
    at: Text = Field(description="When, in UTC")
    who: Text = Field(description="Who did it")
    note: Text = Field(description="What was noted with it")
    readings: dict[str, Text] = Field(description="What was read, by name")
    pieces: dict[str, Whole] = Field(description="Pieces by the job's id, where it is about pieces")
    takes_back: Whole | None = Field(description="Number of the row that this one takes back")


class FlaskRecord(Told):
    flask: Name
    items: tuple[RecordDocument, ...] = Field(description="Everything that was written down, the oldest first")
    last: Text = Field(description="Mark of the last step, to take it back; empty where there is none")


class TakenBack(Sent):
    last: Name = Field(description="Mark of the last step, as the record tells it")


class Looked(Sent):
    job: Name = Field(description="Id of the job")
    pieces: Count = Field(description="How many of its pieces were looked at")
    outcome: Reading = Field("", description="Empty for passed, else the key of the defect")
    note: Reading = Field("", description="Anything to remember")


class PointDocument(Told):
    id: Name
    number: Count = Field(description="Its place in the list, from 1")
    text: Text = Field(description="What is to be done")
    why: Text = Field(description="What for")
    required: bool = Field(description="True where the work waits for it")
    second: bool = Field(description="True where another person signs it on the screen")
    reading: Text = Field(description="What is to be read: none, temperature, mass or pressure")
    unit: Text | None = Field(description="Unit of the reading")
    done: bool
    passed: bool = Field(description="True where a manager let it pass")
    who: Text = Field(description="Who ticked it; empty while it is open")
    read: Text = Field(description="Send this back with a tick: it says what was read")


class CheckDocument(Told):
    flask: Name
    pause: Name = Field(description="invest, kiln, melt, pour or quench")
    closed: Text = Field(description="The stage that is recorded already, after which the list stays as it is")
    holds_back: bool = Field(description="True while the next stage waits for it")
    points: tuple[PointDocument, ...]
    read: Text = Field(description="Send this back to let pass what is open: it says what was read")


class Ticked(Sent):
    point: Name = Field(description="Id of the point")
    reading: Reading = Field("", description="What was read, where the point asks for it")
    read: Text = Field(description="The text that came with the point")


class Unticked(Sent):
    point: Name = Field(description="Id of the point")


class LetPass(Sent):
    reason: Text = Field(description="Why the work goes on with points open; 10 letters or more, kept with the flask")
    read: Text = Field(description="The text that came with the list")


class ChargeWeighed(Sent):
    parts: dict[Name, PositiveGrams] = Field(description="What was weighed in, in g, by the lot's id")
    note: Text = Field("", description="Anything to remember")


class OutWeighed(Sent):
    pieces: dict[Name, Grams] = Field(description="Castings cut off, in g, by the job's id")
    back: Grams = Field(description="Button and sprues with what clings to them, in g")
    note: Text = Field("", description="Anything to remember")


class Shelved(Sent):
    clean: PositiveGrams = Field(description="Button and sprues, clean, in g")
    to_refiner: Flag = Field(False, description="True for the refiner's lot in place of the shelf")


class TreeWeighed(Sent):
    gross: PositiveGrams = Field(description="The tree with its sprue base, in g")
    base: Grams = Field(description="The base alone, in g")


class RecastWanted(Sent):
    quantity: Count = Field(description="How many pieces are cast again")
    ready: Day = Field(description="Day on which the patterns are ready, an ISO date")
    due: Day = Field(description="Day on which they are due, an ISO date")
