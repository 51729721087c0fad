"""Access for other software: tokens that stand for a role."""

from datetime import datetime
from typing import ClassVar

from sqlmodel import Field

from webapp.auth.roles import Role
from webapp.store.columns import InstantColumn, kept, one_of, utc_now
from webapp.store.tables.base import Table


class AccessRow(Table, table=True):
    """``token``: the digest of what the software sends. ``maker``: the account that made it, none where it was made on
    the server's own machine without sign-in. ``used_on``: the ISO date (UTC) on which it was used last, empty before.
    A token that is ended is gone."""

    __tablename__: ClassVar[str] = "access"

    id: int | None = Field(default=None, primary_key=True)
    name: str = Field(unique=True)
    role: Role = kept(one_of(Role))
    token: str = Field(unique=True)
    maker: int | None = Field(default=None, foreign_key="account.id", index=True)
    made_at: datetime = kept(InstantColumn, default_factory=utc_now)
    used_on: str = ""
