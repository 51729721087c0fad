"""The document of a job, which the job form shares."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from domain.shop.alloy import Section
from domain.shop.jobs import Job
from webapp.exchange.document import Document
from webapp.exchange.fields import PositiveGrams, PositiveMm3
from webapp.exchange.mould import PieceSizeDocument
from webapp.exchange.plain import Count, Day, Flag, Name, Text


class JobDocument(Document[Job]):
    id: Name = Field(description="The job's id")
    customer: Text = Field("", description="Whose job it is")
    item: Name = Field(description="What is cast, in a few words")
    alloy: Name = Field(description="Id of the alloy")
    section: Section = Field(description="How thick a piece is where it is hardest to fill")
    material: Name = Field(description="Id of the pattern material")
    quantity: Annotated[Count, Field(le=100_000)] = Field(description="How many pieces")
    pattern_mass: PositiveGrams | None = Field(None, description="One pattern, weighed, in g; give this or metal_volume, not both")
    metal_volume: PositiveMm3 | None = Field(
        None, description="One piece, from a model, in mm³; give this or pattern_mass, not both"
    )
    size: PieceSizeDocument = Field(description="The box of one pattern as it sits on the tree, in mm")
    ready: Day = Field(description="Day on which the patterns are ready, an ISO date")
    due: Day = Field(description="Day on which the castings are due, an ISO date")
    weight: Annotated[Count, Field(le=10_000)] = Field(1, description="How much a day late counts; 1 for ordinary work")
    may_split: Flag = Field(True, description="False where all pieces must be cast in one flask")
    own_metal: Name | None = Field(None, description="Id of the lot of the customer's own metal")
    per_tree: dict[Name, Count] = Field(
        default_factory=dict, description="The shop's own pieces per tree, by id of the flask size, in place of the ring rule"
    )
    notes: Text = Field("", description="Anything to remember")
