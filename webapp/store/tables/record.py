"""Plans as they were, pins, and ticked points."""

from collections.abc import Mapping
from datetime import datetime
from enum import StrEnum
from typing import ClassVar

from sqlmodel import Field

from domain.planning.plan import Plan
from webapp.store.columns import DayColumn, InstantColumn, JsonOf, checks, kept, one_of, utc_now
from webapp.store.tables.base import Table, keep_append_only

MADE_OF = JsonOf(dict[str, str])
"""what a flask was: value by name"""


class PlanStatus(StrEnum):
    DRAFT = "draft"
    CURRENT = "current"
    OLD = "old"


class PlanVersion(Table, table=True):
    """One plan as people have read it. Its minutes count from midnight of ``first_day`` in
    ``timezone``. A document is never changed: another plan is another version."""

    __tablename__: ClassVar[str] = "plan_version"

    id: int | None = Field(default=None, primary_key=True)
    made_at: datetime = kept(InstantColumn, default_factory=utc_now)
    status: PlanStatus = kept(one_of(PlanStatus), index=True)
    made_by: str
    first_day: str = kept(DayColumn)
    timezone: str
    document: Plan = kept(JsonOf(Plan))
    note: str = ""


class FlaskPin(Table, table=True):
    """A flask that the manager does not want moved."""

    __tablename__: ClassVar[str] = "flask_pin"

    flask: str = Field(primary_key=True)
    reason: str = ""
    at: datetime = kept(InstantColumn, default_factory=utc_now)
    who: str = ""


class ChecklistTick(Table, table=True):
    """Append-only: the last row of a point counts. ``text``: the point as it was read. ``reading``: the value
    with its unit, where the point asks for one. ``ticked``: false for a row that takes the tick back.
    ``second``: a second person signs the tick that stands. ``account``: of ``who``, none where nobody signs
    in. ``made_of``: what the flask was, by name."""

    __tablename__: ClassVar[str] = "checklist_tick"

    id: int | None = Field(default=None, primary_key=True)
    flask: str = Field(index=True)
    pause: str
    point: str
    text: str
    reading: str = ""
    ticked: bool = True
    at: datetime = kept(InstantColumn, default_factory=utc_now)
    who: str = ""
    key: str | None = Field(default=None, unique=True)
    second: bool = Field(default=False, sa_column_kwargs={"server_default": "0"})
    account: int | None = None
    made_of: Mapping[str, str] = kept(MADE_OF, default_factory=dict, sa_column_kwargs={"server_default": "{}"})


class ChecklistOverride(Table, table=True):
    """Append-only: a manager let the work go on with points open. ``points``: these, with their texts."""

    __tablename__: ClassVar[str] = "checklist_override"
    __table_args__ = checks(reason_is_given="length(reason) >= 10")

    id: int | None = Field(default=None, primary_key=True)
    flask: str = Field(index=True)
    pause: str
    reason: str
    points: Mapping[str, str] = kept(JsonOf(dict[str, str]))
    made_of: Mapping[str, str] = kept(MADE_OF)
    at: datetime = kept(InstantColumn, default_factory=utc_now)
    who: str
    key: str | None = Field(default=None, unique=True)


keep_append_only("checklist_tick", "id = NEW.id", "key = NEW.key")
keep_append_only("checklist_override", "id = NEW.id", "key = NEW.key")
