"""The plan of the week, and making it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from webapp.exchange.api.base import Sent, Told
from webapp.exchange.plain import Count, Flag, Name, Text, Whole
from webapp.exchange.plan import LevelDocument, PlanDocument

Given = Annotated[float, Field(ge=2, le=600)]


class CurrentPlan(Told):
    version: Whole = Field(description="Version of the plan; moves by hand ask for it")
    made_at: Text = Field(description="When it was made, in the shop's local time")
    stale: tuple[Text, ...] = Field(description="What changed in the jobs since, in words")
    plan: PlanDocument


class PlanningWanted(Sent):
    seconds: Given = Field(20, description="How long the planner may look, in seconds")
    anew: Flag = Field(False, description="True where what people have read may be moved for a better plan")
    by_hand: Literal["", "keep", "lose"] = Field(
        "", description="What becomes of moves by hand: keep pins them, lose plans over them; asked for where there are any"
    )


class PlanningState(Told):
    phase: Name = Field(description="idle, running, stopping, done or failed")
    busy: bool = Field(description="True while the planner is at work")
    limit: float = Field(description="How long it may look, in seconds")
    elapsed: float = Field(description="How long it has looked, in seconds")
    stage: Text = Field(description="What it does now, in words")
    levels: tuple[LevelDocument, ...] = Field(description="The best plan so far, objective by objective")
    message: Text = Field(description="What came of it, in words")
    version: Whole | None = Field(description="The plan that it led to; none where it led to none")


class MoveWanted(Sent):
    version: Whole = Field(description="Version of the plan that was read")
    job: Name = Field(description="Id of the job")
    pieces: Count = Field(description="How many of its pieces move")
    to: Name | None = Field(None, description="Id of the flask that they move to; none for a new flask")
    load: Name | None = Field(None, description="Id of the kiln load that a new flask rides")


class MoveTried(Told):
    allowed: bool = Field(description="Whether the checker passes it")
    trouble: Text = Field(description="Why it could not be worked out; empty where it could")
    broken: tuple[Text, ...] = Field(description="The rules that it breaks, in words")
    before: tuple[LevelDocument, ...] = Field(description="The plan before, objective by objective")
    after: tuple[LevelDocument, ...] = Field(description="The plan with the move")
    flask: Text = Field(description="Id of the flask that the pieces are then in")


class PinWanted(Sent):
    reason: Text = Field("", description="Why it stays where it is")
