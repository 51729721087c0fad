"""Accounts, enrolled tablets, sign-ins that can be ended, and wrong tries."""

from typing import ClassVar

from sqlmodel import Field

from webapp.auth.roles import Role
from webapp.store.columns import kept, one_of
from webapp.store.tables.base import Table


class AccountRow(Table, table=True):
    """``password`` and ``pin``: salt and digest, none where there is none. An ended account stays for the record."""

    __tablename__: ClassVar[str] = "account"

    id: int | None = Field(default=None, primary_key=True)
    name: str = Field(unique=True)
    role: Role = kept(one_of(Role))
    person: str | None = Field(default=None, foreign_key="person.id")
    password: str | None = None
    pin: str | None = None
    ended: bool = False


class TabletRow(Table, table=True):
    """A device on which casters switch by PIN. ``token``: the digest of what its browser holds."""

    __tablename__: ClassVar[str] = "tablet"

    id: int | None = Field(default=None, primary_key=True)
    name: str
    token: str = Field(unique=True)
    revoked: bool = False


class SignInRow(Table, table=True):
    """``token``: the digest of what the browser holds. ``until``: seconds since 1970 (UTC)."""

    __tablename__: ClassVar[str] = "sign_in"

    token: str = Field(primary_key=True)
    account: int = Field(foreign_key="account.id", index=True)
    tablet: int | None = Field(default=None, foreign_key="tablet.id", index=True)
    until: int


class WrongTriesRow(Table, table=True):
    """``key``: what was tried and from where. ``until``: seconds since 1970 before which no try counts."""

    __tablename__: ClassVar[str] = "wrong_tries"

    key: str = Field(primary_key=True)
    wrong: int = 0
    until: int = 0
