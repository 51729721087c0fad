"""The floor's record: what was done with each flask."""

from collections.abc import Mapping
from datetime import datetime
from typing import ClassVar

from sqlmodel import Field

from domain.floor.stages import Stage
from domain.floor.times import CastAs
from webapp.store.columns import InstantColumn, JsonOf, kept, one_of, utc_now
from webapp.store.tables.base import Table, keep_append_only


class FloorRecord(Table, table=True):
    """Append-only. ``key``: made by the client, so that a repeated request counts once. ``readings``: by name, as
    text with its unit. ``pieces``: by job, what came out of a flask that was knocked out, or was looked at.
    ``cast_as``: what was cast, as it was planned then. ``takes_back``: the row that this counter-entry undoes;
    each is undone once at most."""

    __tablename__: ClassVar[str] = "floor_record"

    id: int | None = Field(default=None, primary_key=True)
    flask: str = Field(index=True)
    plan_version: int | None = Field(default=None, foreign_key="plan_version.id")
    stage: Stage = kept(one_of(Stage))
    at: datetime = kept(InstantColumn, default_factory=utc_now)
    who: str = ""
    note: str = ""
    key: str | None = Field(default=None, unique=True)
    readings: Mapping[str, str] = kept(JsonOf(dict[str, str]), default_factory=dict)
    pieces: Mapping[str, int] | None = kept(JsonOf(dict[str, int]), nullable=True, default=None)
    cast_as: CastAs | None = kept(JsonOf(CastAs), nullable=True, default=None)
    takes_back: int | None = Field(default=None, foreign_key="floor_record.id", unique=True)


keep_append_only("floor_record", "id = NEW.id", "key = NEW.key", "takes_back = NEW.takes_back")
