"""Models of pieces: what was measured in a file, and a small picture of it. The file itself is not kept."""

from datetime import datetime
from typing import ClassVar

from sqlmodel import Field

from domain.models.shape import ModelUnit, Shape
from webapp.store.columns import InstantColumn, JsonOf, kept, utc_now
from webapp.store.tables.base import Table


class ModelRow(Table, table=True):
    """``job``: whose piece it is, none while a job is being made of it. ``picture``: PNG."""

    __tablename__: ClassVar[str] = "model"

    id: str = Field(primary_key=True)
    job: str | None = Field(default=None, foreign_key="job.id", unique=True)
    brought_at: datetime = kept(InstantColumn, default_factory=utc_now)
    name: str
    kind: str
    digest: str
    stated: ModelUnit | None = kept(JsonOf(ModelUnit), nullable=True, default=None)
    unit: ModelUnit | None = kept(JsonOf(ModelUnit), nullable=True, default=None)
    shape: Shape = kept(JsonOf(Shape))
    picture: bytes
