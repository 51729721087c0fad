"""How the shop's data are looked after."""

from typing import ClassVar

from sqlalchemy import CheckConstraint
from sqlmodel import Field

from webapp.store.tables.base import Table


class CopyRuleRow(Table, table=True):
    """One row. ``keep``: daily copies that stay."""

    __tablename__: ClassVar[str] = "copy_rule"
    __table_args__ = (
        CheckConstraint("id = 1", name="one_row"),
        CheckConstraint("keep BETWEEN 1 AND 365", name="keep_in_range"),
    )

    id: int | None = Field(default=1, primary_key=True)
    daily: bool = True
    keep: int = 14
