"""How far a new shop's set-up has come."""

from typing import ClassVar

from sqlalchemy import CheckConstraint
from sqlmodel import Field

from webapp.store.tables.base import Table


class SetupRow(Table, table=True):
    """A step that was gone through. ``how``: its values were saved, or it was skipped for now."""

    __tablename__: ClassVar[str] = "setup_step"
    __table_args__ = (CheckConstraint("how IN ('saved', 'skipped')", name="how_known"),)

    step: str = Field(primary_key=True)
    how: str
