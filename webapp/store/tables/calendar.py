"""Addresses under which calendars outside read the week."""

from datetime import datetime
from typing import ClassVar

from sqlmodel import Field

from webapp.store.columns import InstantColumn, kept, utc_now
from webapp.store.tables.base import Table


class CalendarFeedRow(Table, table=True):
    """``token``: the digest of what stands in its address. A feed that is withdrawn is gone."""

    __tablename__: ClassVar[str] = "calendar_feed"

    id: int | None = Field(default=None, primary_key=True)
    name: str = Field(unique=True)
    token: str = Field(unique=True)
    made_at: datetime = kept(InstantColumn, default_factory=utc_now)
