"""The plan as a document. Times are minutes of the plan's clock: minutes that have really elapsed
since local midnight of ``first_day`` in ``timezone``. Beside each stands the local time for people;
it may be left out, but where it is given it must agree."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from domain.mould.ring import Ring
from domain.planning.clock import Clock
from domain.planning.plan import (
    ChargePart,
    FlaskCharge,
    From,
    KilnLoad,
    LeftOut,
    Level,
    MetalOrder,
    Plan,
    PlannedFlask,
)
from webapp.exchange.document import Document, Path, errors_at, repeated, taken_apart
from webapp.exchange.fields import Celsius, Grams, Millimetres
from webapp.exchange.plain import ClockMinute, Count, Day, Flag, Integer, Name, Seconds, Text, Timezone

LOCAL = "The shop's local time, for people; may be left out, must agree with the minute"
FLASK_TIMES = ("invest_start", "invest_end", "cast_start", "cast_end", "knockout_start", "knockout_end")
LOAD_TIMES = ("load_at", "start", "program_end")


class RingDocument(Document[Ring]):
    pieces: tuple[tuple[Name, Count], ...] = Field(description="Pairs of a job's id and how many of its pieces the ring holds")
    height: Millimetres = Field(description="What the ring takes of the trunk without the gap to the next, in mm")
    by_count: Flag = Field(False, description="True where the shop's own pieces per tree decided, not the ring rule")


class PlannedFlaskDocument(Document[PlannedFlask]):
    id: Name = Field(description="The flask's id, scratched into its investment")
    melt: Name = Field(description="The alloy's id, with the lot's id behind a slash for a customer's own metal")
    size: Name = Field(description="Id of the flask size")
    investment: Name = Field(description="Id of the investment kind")
    rings: tuple[RingDocument, ...] = Field(description="Rings of pieces from the button upwards")
    temperature: Celsius = Field(description="Mould temperature at the pour, in °C")
    charge: Grams = Field(description="Metal to weigh, melt loss included, in g")
    invest_start: ClockMinute = Field(description="Investing starts, in minutes of the plan's clock")
    invest_start_local: Text | None = Field(None, description=LOCAL)
    invest_end: ClockMinute = Field(description="Investing ends, in minutes of the plan's clock")
    invest_end_local: Text | None = Field(None, description=LOCAL)
    load: Name = Field(description="Id of the kiln load that it rides")
    machine: Name = Field(description="Id of the casting machine")
    people: tuple[Name, ...] = Field(description="Ids of the people who cast it")
    cast_start: ClockMinute = Field(description="The cast slot starts, in minutes of the plan's clock")
    cast_start_local: Text | None = Field(None, description=LOCAL)
    cast_end: ClockMinute = Field(description="The cast slot ends, in minutes of the plan's clock")
    cast_end_local: Text | None = Field(None, description=LOCAL)
    knockout_start: ClockMinute = Field(description="Knock-out starts, in minutes of the plan's clock")
    knockout_start_local: Text | None = Field(None, description=LOCAL)
    knockout_end: ClockMinute = Field(description="The flask is back on the shelf, in minutes of the plan's clock")
    knockout_end_local: Text | None = Field(None, description=LOCAL)


class KilnLoadDocument(Document[KilnLoad]):
    id: Name = Field(description="The load's id")
    kiln: Name = Field(description="Id of the kiln")
    program: Name = Field(description="Id of the burnout program")
    rows: tuple[tuple[Name, ...], ...] = Field(description="Flask ids as they stand on the floor, row by row from the door")
    load_at: ClockMinute = Field(description="The flasks go in, in minutes of the plan's clock")
    load_at_local: Text | None = Field(None, description=LOCAL)
    start: ClockMinute = Field(description="The program starts, in minutes of the plan's clock")
    start_local: Text | None = Field(None, description=LOCAL)
    program_end: ClockMinute = Field(description="The program's last segment ends, in minutes of the plan's clock")
    program_end_local: Text | None = Field(None, description=LOCAL)


class ChargePartDocument(Document[ChargePart]):
    origin: From = Field(description="Where this part of the charge comes from")
    ref: Name = Field(description="Id of the lot, of the metal on order, or of the flask whose returns are used")
    mass: Grams = Field(description="Mass of this part, in g")


class FlaskChargeDocument(Document[FlaskCharge]):
    flask: Name = Field(description="Id of the flask")
    parts: tuple[ChargePartDocument, ...] = Field(description="What goes into the crucible")


class MetalOrderDocument(Document[MetalOrder]):
    metal: Name = Field(description="Id of the metal to order")
    needed: Grams = Field(description="What the plan needs of it, in g")
    mass: Grams = Field(description="What to order, rounded up to the supplier's pack, in g")
    order_by: Day = Field(description="Last day to order on, an ISO date")
    arrives: Day = Field(description="Day on which it is then here, an ISO date")
    flasks: tuple[Name, ...] = Field(description="Ids of the flasks that need it")


class LeftOutDocument(Document[LeftOut]):
    job: Name = Field(description="Id of the job")
    pieces: Count = Field(description="How many of its pieces are in no flask")
    rule: Annotated[Count, Field(le=11)] = Field(description="Number of the trade's rule in the way, 1 to 11")
    reason: Text = Field(description="Why, in words")
    remedy: Text = Field(description="What would mend it, in words")


class LevelDocument(Document[Level]):
    name: Name = Field(description="Name of the objective")
    value: Integer = Field(description="Its value in this plan: cost units, weighted days, minutes or a count, as its name says")
    bound: Integer | None = Field(None, description="Proven least value in the same measure; none where nothing is proven")


class PlanDocument(Document[Plan]):
    format: Literal["castweek-plan"] = Field(description="Marks the document as a plan")
    version: Literal[1] = Field(description="Version of this description")
    first_day: Day = Field(description="Day whose local midnight is minute 0 of the plan's clock, an ISO date")
    timezone: Timezone = Field(description="The shop's time zone, an IANA name")
    flasks: tuple[PlannedFlaskDocument, ...] = Field((), description="Flasks in no particular order")
    loads: tuple[KilnLoadDocument, ...] = Field((), description="Kiln loads in no particular order")
    left_out: tuple[LeftOutDocument, ...] = Field((), description="Pieces that are in no flask, with the reason")
    charges: tuple[FlaskChargeDocument, ...] = Field((), description="What goes into the crucible for each flask, in g")
    orders: tuple[MetalOrderDocument, ...] = Field((), description="Metal to order")
    levels: tuple[LevelDocument, ...] = Field((), description="The objectives, in their order")
    made_by: Name = Field("planner", description="baseline, planner or hand")
    seconds: Seconds = Field(0.0, description="How long planning took, in seconds")
    seed: Integer = Field(0, description="The seed that makes it again with a deterministic limit")
    notes: tuple[Text, ...] = Field((), description="What else to know about the plan")

    @classmethod
    def of(cls, plan: Plan, clock: Clock) -> Self:
        """The document of a plan whose times are minutes of ``clock``."""
        marks = {"format": "castweek-plan", "version": 1, "first_day": clock.first_day.isoformat(), "timezone": clock.timezone}
        document = cls.model_validate({**marks, **taken_apart(plan)})
        for _, entry, name in document._times():
            setattr(entry, f"{name}_local", clock.local(getattr(entry, name)).isoformat(timespec="minutes"))
        return document

    def clock(self) -> Clock:
        return Clock(date.fromisoformat(self.first_day), self.timezone)

    def on_clock(self, clock: Clock) -> Plan:
        """The plan with its times moved to another clock: the same moments, other minutes."""
        shift = clock.minute(self.clock().local(0))
        moved = self.model_copy(deep=True)
        for _, entry, name in moved._times():
            setattr(entry, name, getattr(entry, name) + shift)
        return moved.to_domain()

    def _times(self) -> list[tuple[Path, PlannedFlaskDocument | KilnLoadDocument, str]]:
        flasks = [(("flasks", i), f, name) for i, f in enumerate(self.flasks) for name in FLASK_TIMES]
        loads = [(("loads", i), load, name) for i, load in enumerate(self.loads) for name in LOAD_TIMES]
        return [*flasks, *loads]

    @model_validator(mode="after")
    def _agrees_with_itself(self) -> Self:
        problems = [*self._repeated("flasks"), *self._repeated("loads")]
        clock = self.clock()
        for path, entry, name in self._times():
            text = getattr(entry, f"{name}_local")
            if text is not None and not _agrees(text, clock.local(getattr(entry, name))):
                right = clock.local(getattr(entry, name)).isoformat(timespec="minutes")
                problems.append(((*path, f"{name}_local"), f"“{text}” is not minute {getattr(entry, name)}, which is {right}"))
        if problems:
            raise errors_at("PlanDocument", problems)
        return self

    def _repeated(self, name: str) -> list[tuple[Path, str]]:
        return repeated((name,), "id", getattr(self, name))


def _agrees(text: str, moment: datetime) -> bool:
    try:
        read = datetime.fromisoformat(text)
    except ValueError:
        return False
    return read == (moment if read.tzinfo else moment.replace(tzinfo=None))
