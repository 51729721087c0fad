"""What all tables share: names for constraints, order, versions, archiving."""

from datetime import datetime
from typing import Any, ClassVar

from sqlalchemy import MetaData, event
from sqlalchemy.orm import object_session
from sqlmodel import Field, SQLModel

from webapp.store.columns import InstantColumn, kept, utc_now

METADATA = MetaData(
    naming_convention={
        "ix": "ix_%(column_0_N_label)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)


class Table(SQLModel):
    """Base of every table."""

    metadata: ClassVar[MetaData] = METADATA


class Kept(Table):
    """A row that people edit. ``position`` keeps the order of a list; ``version`` counts the edits,
    so that a second editor is told; an archived row is out of every list but never gone."""

    position: int = 0
    version: int = 1
    updated_at: datetime = kept(InstantColumn, default_factory=utc_now)
    archived_at: datetime | None = kept(InstantColumn, default=None)


class Entity(Kept):
    id: str = Field(primary_key=True)


@event.listens_for(Kept, "before_update", propagate=True)
def _count_the_edit(_mapper: Any, _connection: Any, row: Kept) -> None:
    session = object_session(row)
    if session is not None and session.is_modified(row):
        row.version += 1
        row.updated_at = utc_now()
