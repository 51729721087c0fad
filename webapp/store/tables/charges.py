"""What was weighed of a flask's tree, and the charges that were planned for it before."""

from datetime import datetime
from typing import ClassVar

from sqlmodel import Field

from domain.planning.plan import ChargePart
from domain.units import Mass, Share
from webapp.store.columns import InstantColumn, JsonOf, MassColumn, ShareColumn, at_least, kept, utc_now
from webapp.store.tables.base import Table


class TreeWeighing(Table, table=True):
    """Append-only; the last of a flask counts. ``gross`` with the sprue base, ``base`` alone."""

    __tablename__: ClassVar[str] = "tree_weighing"
    __table_args__ = (*at_least(1, "gross"), *at_least(0, "base"))

    id: int | None = Field(default=None, primary_key=True)
    flask: str = Field(index=True)
    gross: Mass = kept(MassColumn)
    base: Mass = kept(MassColumn)
    at: datetime = kept(InstantColumn, default_factory=utc_now)
    who: str = ""
    key: str | None = Field(default=None, unique=True)


class ChargeBefore(Table, table=True):
    """Append-only: a charge as it was until ``at``, and why another took its place. ``asked``: the mass that the
    flask needed; none of the parts where it had no charge."""

    __tablename__: ClassVar[str] = "charge_before"
    __table_args__ = at_least(0, "asked")

    id: int | None = Field(default=None, primary_key=True)
    flask: str = Field(index=True)
    at: datetime = kept(InstantColumn, default_factory=utc_now)
    reason: str
    asked: Mass = kept(MassColumn)
    parts: tuple[ChargePart, ...] = kept(JsonOf(tuple[ChargePart, ...]))
    fineness: Share | None = kept(ShareColumn, nullable=True, default=None)
