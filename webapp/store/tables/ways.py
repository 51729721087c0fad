"""In which units, numbers, days and hours people read."""

from typing import ClassVar

from sqlmodel import Field

from webapp.store.columns import kept, one_of
from webapp.store.tables.base import Table
from webapp.ways import Days, Degrees, Hours, Investment, Language, Lengths, Metal, Numbers, Volumes


class WaysRow(Table, table=True):
    """``account``: whose they are, none for the shop's, which count for whoever chose none. One row each."""

    __tablename__: ClassVar[str] = "ways"

    id: int | None = Field(default=None, primary_key=True)
    account: int | None = Field(default=None, foreign_key="account.id", unique=True)
    metal: Metal = kept(one_of(Metal))
    investment: Investment = kept(one_of(Investment))
    lengths: Lengths = kept(one_of(Lengths))
    volumes: Volumes = kept(one_of(Volumes))
    degrees: Degrees = kept(one_of(Degrees))
    numbers: Numbers = kept(one_of(Numbers))
    days: Days = kept(one_of(Days))
    hours: Hours = kept(one_of(Hours))
    language: Language = kept(one_of(Language))
