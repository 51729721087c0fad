"""Accounts and tablets, points of the shop's checklists, feeds, copies, models, and lists and weeks that are brought in."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from webapp.exchange.api.base import Sent, Told
from webapp.exchange.jobs import JobDocument
from webapp.exchange.models import ModelDocument
from webapp.exchange.plain import Name, Text, Whole


class AccountWanted(Sent):
    name: Name = Field(description="The name that stands in the record")
    role: Literal["owner", "manager", "caster", "board"]
    password: str = Field("", max_length=200, description="At least ten characters; a caster may do with a PIN")
    pin: str = Field("", max_length=20, description="Of a caster, for a tablet that was enrolled")
    person: Text = Field("", description="Id of the person in the shop's list")


class TabletDocument(Told):
    number: int
    name: Name


class TabletList(Told):
    items: tuple[TabletDocument, ...]


class PointWanted(Sent):
    text: str = Field(max_length=1000, description="What is to be done; in braces the flask fills in its own")
    why: str = Field("", max_length=1000, description="What for")
    required: bool = Field(description="True where the work may not go on without it")
    second: bool = Field(False, description="True where another person signs it")
    reading: Text = Field("none", description="What is read and kept with it, as in the list")
    reason: str = Field("", max_length=1000, description="Why, where a caution is weakened")
    conditions: dict[str, Text] = Field(default_factory=dict, max_length=20, description="What calls for a point of the shop's own")


class NewPointWanted(PointWanted):
    pause: Name = Field(description="The pause at which it is asked, as in the list")


class PointChanged(PointWanted):
    version: Whole = Field(description="The version that was read; 0 for a point as it started")


class PointTurned(Sent):
    version: Whole = Field(description="The version that was read; 0 for a point as it started")
    reason: str = Field("", max_length=1000, description="Why, where the point carries a caution")


class PointMoved(Sent):
    where: Literal["up", "down"]


class FeedWanted(Sent):
    name: Name = Field(description="Who reads it")


class FeedDocument(Told):
    number: int
    name: Name


class FeedList(Told):
    items: tuple[FeedDocument, ...]


class FeedMade(Told):
    path: Text = Field(description="Its address on this server; told this once")


class CopyDocument(Told):
    name: Name = Field(description="Name of the file")
    kind: Text = Field(description="Why it was made: daily, by-hand, before-upgrade, or empty before another week")
    made_at: Text = Field(description="When, in the shop's local time")
    bytes: int


class CopyRuleDocument(Sent):
    daily: bool = Field(description="True where one is made each day")
    keep: int = Field(ge=1, le=365, description="How many daily copies stay")


class CopyList(Told):
    rule: CopyRuleDocument
    items: tuple[CopyDocument, ...]


class ModelFound(Told):
    job: Name | None = Field(description="Id of its job; none for a job still to be made")
    model: ModelDocument
    fields: dict[str, Text] = Field(description="Fields of a job that it knows; empty while its unit is being asked")


class UnitSaid(Sent):
    unit: Literal["mm", "cm", "in"]


class ListProblem(Told):
    column: Text
    message: Text


class ListRowDocument(Told):
    number: int = Field(description="Which row of the list")
    state: Text = Field(description="How far it can be read")
    cells: tuple[Text, ...]
    job: JobDocument | None = Field(description="The job as it would be taken in; none where it cannot be yet")
    problems: tuple[ListProblem, ...]
    waits_for: tuple[Text, ...] = Field(description="Kinds of the questions that must be answered first")


class ListQuestion(Told):
    kind: Text = Field(description="Send it back with the answer")
    text: Text
    choices: dict[str, Text] = Field(description="What may be answered, and what it means; other text may be refused")
    default: Text | None = Field(description="What is taken without an answer")
    rows: tuple[int, ...]


class ListDocument(Told):
    draft: Name
    name: Text
    version: Whole = Field(description="Send it back with a change")
    headings: tuple[Text, ...]
    columns: dict[str, int] = Field(description="Fields of a job and the column that holds each, counted from 0")
    questions: tuple[ListQuestion, ...] = Field(description="What is still asked")
    rows: tuple[ListRowDocument, ...]


class DraftLineDocument(Told):
    draft: Name
    name: Text
    rows: int


class DraftList(Told):
    items: tuple[DraftLineDocument, ...]


class ListAt(Sent):
    version: Whole = Field(description="The version of the list that was read")


class ColumnsWanted(ListAt):
    columns: dict[str, int] = Field(max_length=100, description="Fields of a job and the column that holds each, counted from 0")
    heading: int | None = Field(None, ge=1, le=100_000, description="Which row holds the headings; none where no row does")


class AnswersWanted(ListAt):
    answers: dict[str, Text] = Field(max_length=1000, description="Answers by the kind of their question; empty asks again")


class CellsWanted(ListAt):
    cells: dict[int, Text] = Field(max_length=200, description="Texts by their column, counted from 0")
    fields: dict[str, Text] = Field(default_factory=dict, max_length=100, description="Texts by field, for fields without a column")


class TakenDocument(Told):
    added: Whole = Field(description="Jobs that are new")
    replaced: Whole = Field(description="Jobs that were saved before")
    left: Whole = Field(description="Rows that still need something")


class WeekChange(Told):
    what: Text
    new: tuple[Text, ...]
    changed: tuple[Text, ...]
    gone: tuple[Text, ...]
    same: Whole


class WeekPreview(Told):
    key: Text = Field(description="Send it to bring the week in")
    jobs: Whole
    changes: tuple[WeekChange, ...]


class WeekTaken(Sent):
    key: Text = Field(description="The key of the preview")
