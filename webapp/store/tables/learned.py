"""What the shop made of what its record suggests."""

from datetime import datetime
from typing import ClassVar

from sqlmodel import Field

from domain.floor.learning import Learned
from webapp.store.columns import InstantColumn, at_least, kept, one_of, utc_now
from webapp.store.tables.base import Table, keep_append_only


class LearnedRow(Table, table=True):
    """Append-only. ``subject``: the machine, alloy or flask size; ``planned``: its value until then, ``use`` the one
    suggested, both in whole base units; ``count``: casts measured then."""

    __tablename__: ClassVar[str] = "learned"
    __table_args__ = at_least(0, "planned", "use", "count")

    id: int | None = Field(default=None, primary_key=True)
    at: datetime = kept(InstantColumn, default_factory=utc_now)
    who: str = ""
    what: Learned = kept(one_of(Learned))
    subject: str
    accepted: bool
    planned: int
    use: int
    count: int
    note: str = ""


keep_append_only("learned", "id = NEW.id")
