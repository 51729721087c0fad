"""Jobs as other software takes them in and reads them."""

from __future__ import annotations

from pydantic import Field

from webapp.exchange.api.base import Kept, Told
from webapp.exchange.fields import Grams
from webapp.exchange.jobs import JobDocument
from webapp.exchange.plain import Count, Day, Name, Text, Whole

NEXT = "next"


class NewJobDocument(JobDocument):
    id: Name = Field(NEXT, description=f"The job's id; “{NEXT}”, or left out, is the next free number")


class InFlaskDocument(Told):
    id: Name = Field(description="Id of the flask")
    pieces: Count = Field(description="How many pieces of the job it holds")
    cast_on: Day = Field(description="Day on which it is cast, an ISO date")
    out_on: Day = Field(description="Day on which it is knocked out, an ISO date")
    stage: Text = Field(description="What has happened to it last; empty for nothing yet")


class StandingDocument(Told):
    state: Text = Field(description="late, cannot be planned, not planned yet, planned, or cast")
    metal_each: Grams | None = Field(description="Metal of one piece, in g; none where alloy or material is gone")
    metal_total: Grams | None = Field(description="Metal of all pieces, in g")
    flasks: tuple[InFlaskDocument, ...] = Field(description="The flasks that hold its pieces")
    open_pieces: Whole = Field(description="Pieces that are in no flask")
    days_late: Whole = Field(description="Days late as far as it is planned; 0 for in time")
    reason: Text = Field(description="Why it cannot be planned; empty where it can")
    remedy: Text = Field(description="What would mend that")


class KeptJob(Kept[JobDocument]):
    standing: StandingDocument | None = Field(description="How it stands in the week; none for an archived job")


class JobList(Told):
    items: tuple[KeptJob, ...] = Field(description="Jobs by the day on which they are due")
