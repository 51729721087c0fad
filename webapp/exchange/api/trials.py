"""What if: changes that are tried on the week, and two weeks side by side."""

from __future__ import annotations

from pydantic import Field

from webapp.exchange.api.base import Sent, Told
from webapp.exchange.fields import Grams
from webapp.exchange.jobs import JobDocument
from webapp.exchange.plain import Day, Name, Text, Whole
from webapp.exchange.plan import LevelDocument


class NightWanted(Sent):
    kiln: Name = Field(description="Id of the kiln that may run and start with nobody in the shop")
    day: Day | None = Field(None, description="On the night of this day alone; none for every night")


class AwayFor(Sent):
    first: Day = Field(description="First day")
    last: Day = Field(description="Last day")


class KilnDownWanted(AwayFor):
    kiln: Name = Field(description="Id of the kiln that is out of service")


class AwayWanted(AwayFor):
    person: Name = Field(description="Id of the person who is away")


class FlasksWanted(Sent):
    size: Name = Field(description="Id of the flask size")
    count: int = Field(1, ge=1, le=100, description="How many more of it")


class WorksWanted(Sent):
    person: Name = Field(description="Id of the person who works")
    day: Day = Field(description="On this day")


class LongerWanted(Sent):
    minutes: int = Field(ge=1, le=480, description="How much longer people work, in minutes")
    day: Day | None = Field(None, description="On this day alone; none for every day")


class MetalByWanted(Sent):
    metal: Name = Field(description="Id of the metal")
    day: Day = Field(description="Day on which it is here")


class AlloyByWanted(Sent):
    alloy: Name = Field(description="Id of the alloy")
    day: Day = Field(description="Day on which metal for it is here")


class JobByWanted(Sent):
    job: Name = Field(description="Id of the job")
    day: Day = Field(description="The day")


class TrialWanted(Sent):
    """At least one change."""

    night: NightWanted | None = Field(None, description="Night loads")
    back: Name | None = Field(None, description="Id of a kiln that is in service on all days")
    down: KilnDownWanted | None = Field(None, description="A kiln out of service")
    flasks: FlasksWanted | None = Field(None, description="More flasks of a size")
    away: AwayWanted | None = Field(None, description="Somebody is away")
    works: WorksWanted | None = Field(None, description="Somebody works on a day off")
    longer: LongerWanted | None = Field(None, description="People work longer")
    metal: MetalByWanted | None = Field(None, description="A metal is here earlier")
    alloy: AlloyByWanted | None = Field(None, description="Metal for an alloy is here earlier")
    kiln_like: Name | None = Field(None, description="Id of a kiln of which there is one more")
    machine_like: Name | None = Field(None, description="Id of a machine of which there is one more")
    ahead: int | None = Field(None, ge=1, le=100, description="Days planned further ahead")
    take: Name | None = Field(None, description="Id of a job in the archive that is taken after all")
    job: JobDocument | None = Field(None, description="A job that is taken in")
    put_off: Name | None = Field(None, description="Id of a job that is put off")
    patterns: JobByWanted | None = Field(None, description="Patterns of a job are ready on a day")
    agreed: JobByWanted | None = Field(None, description="A job is due on another day")
    split: Name | None = Field(None, description="Id of a job that may be split over flasks")


class JobBesideDocument(Told):
    """Pairs are the week that is and the week that would be."""

    job: Name
    name: Text
    done: tuple[Day | None, Day | None] = Field(description="Day on which it is done; none where it is not")
    days_late: tuple[Whole, Whole]
    pieces_left_out: tuple[Whole, Whole]


class OrderBesideDocument(Told):
    metal: Name
    name: Text
    mass: tuple[Grams, Grams] = Field(description="To order, in g")


class SideBySideDocument(Told):
    """Pairs are the week that is and the week that would be."""

    levels: tuple[tuple[LevelDocument, LevelDocument], ...] = Field(description="Objective by objective")
    jobs: tuple[JobBesideDocument, ...] = Field(description="Jobs late or left out on either side, or done on another day")
    flasks: tuple[Whole, Whole] = Field(description="How many flasks are cast")
    loads: tuple[Whole, Whole] = Field(description="How many kiln loads are fired")
    orders: tuple[OrderBesideDocument, ...]
    hands: tuple[Whole, Whole] = Field(description="Minutes that people stand at bench, machine and knock-out")
    moved: tuple[Name, ...] = Field(description="Ids of flasks that are gone, new or different")
    steady: Whole = Field(description="How many flasks stay as they are")


class TrialState(Told):
    phase: Name = Field(description="idle, running, stopping, done or failed")
    busy: bool = Field(description="True while the planner is at work")
    message: Text = Field(description="What came of it, in words")
    changes: tuple[Text, ...] = Field(description="What is tried, in words; empty where nothing is")
    key: Text = Field(description="Send it to keep the trial; empty while there is nothing to keep")
    weeks: SideBySideDocument | None = Field(description="Both weeks; none while there is nothing to compare")


class KeepTrial(Sent):
    key: Text = Field(description="The key of the trial that was read")


class PlaceDocument(Told):
    to: Name | None = Field(description="Id of the flask; none for a new one")
    load: Name | None = Field(description="Id of the kiln load that a new flask rides")
    flask: Text = Field(description="Id that a new flask would get; empty for one that is there")
    cost: tuple[LevelDocument, ...] = Field(description="The plan with the move, objective by objective")


class PlaceList(Told):
    version: Whole = Field(description="Version of the plan; send it with the move")
    items: tuple[PlaceDocument, ...] = Field(description="At most three, the best first")


class SlotWanted(Sent):
    version: Whole = Field(description="Version of the plan that was read")
    load: Name = Field(description="Id of the kiln load")
    machine: Name = Field(description="Id of the machine")
    cast_start: int = Field(ge=0, le=5_256_000, description="Minutes after local midnight of the plan's first day")


class SlotDocument(Told):
    load: Name
    machine: Name
    cast_start: int = Field(description="Minutes after local midnight of the plan's first day")
    cast_at: Text = Field(description="The same in the shop's local time")
    cost: tuple[LevelDocument, ...] = Field(description="The plan with the flask there, objective by objective")


class SlotList(Told):
    version: Whole = Field(description="Version of the plan; send it with the slot")
    items: tuple[SlotDocument, ...] = Field(description="At most three, the best first")
