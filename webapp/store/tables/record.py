"""Plans as they were, pins, and ticked points."""

from datetime import datetime
from enum import StrEnum
from typing import ClassVar

from sqlmodel import Field

from domain.planning.plan import Plan
from webapp.store.columns import DayColumn, InstantColumn, JsonOf, kept, one_of, utc_now
from webapp.store.tables.base import Table


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
    """Append-only: the last row of a point counts. ``text``: the point as it was read. ``reading``:
    the value, where the point asks for one."""

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
