"""The books: entries and their postings, which the database itself keeps from being changed; the
balance of every account; what is reserved for planned charges."""

from collections.abc import Mapping
from datetime import datetime
from typing import ClassVar

from sqlalchemy import Index
from sqlmodel import Field

from domain.books.accounts import AccountKind
from domain.books.entries import EntryKind
from domain.units import Mass
from webapp.store.columns import InstantColumn, JsonOf, MassColumn, at_least, checks, kept, one_of, utc_now
from webapp.store.tables.base import Table, keep_append_only

ELEMENTS = JsonOf(dict[str, int])
"""nanograms by chemical symbol"""


class LedgerEntry(Table, table=True):
    """Append-only. ``key``: made by the client, so that a repeated request moves nothing twice.
    ``reverses``: the entry that this counter-entry takes back; each is taken back once at most.
    ``alloy``: what was melted, for charges and casts."""

    __tablename__: ClassVar[str] = "ledger_entry"
    __table_args__ = (Index("ix_ledger_entry_kind_at", "kind", "at"),)

    id: int | None = Field(default=None, primary_key=True)
    at: datetime = kept(InstantColumn, default_factory=utc_now, index=True)
    kind: EntryKind = kept(one_of(EntryKind))
    flask: str | None = Field(default=None, index=True)
    alloy: str | None = None
    who: str = ""
    note: str = ""
    key: str | None = Field(default=None, unique=True)
    reverses: int | None = Field(default=None, foreign_key="ledger_entry.id", unique=True)


class LedgerPosting(Table, table=True):
    """Append-only. ``account`` and ``ref`` name the account; ``mass`` is signed, positive for what came in."""

    __tablename__: ClassVar[str] = "ledger_posting"
    __table_args__ = (Index("ix_ledger_posting_account_ref_entry_mass", "account", "ref", "entry", "mass"),)

    entry: int = Field(primary_key=True, foreign_key="ledger_entry.id")
    line: int = Field(primary_key=True)
    account: AccountKind = kept(one_of(AccountKind))
    ref: str
    mass: Mass = kept(MassColumn)
    elements: Mapping[str, int] = kept(ELEMENTS)


class LedgerBalance(Table, table=True):
    """The sum of an account's postings, kept in the same transaction. ``owner``: the job whose customer's
    metal it is, empty for the shop's. Inside the house no account holds less than nothing."""

    __tablename__: ClassVar[str] = "ledger_balance"
    __table_args__ = (
        *checks(nothing_is_owed="mass >= 0 OR account IN ('supplier', 'customer', 'adjustment')"),
        Index("ix_ledger_balance_account_mass", "account", "mass"),
    )

    account: AccountKind = kept(one_of(AccountKind), primary_key=True)
    ref: str = Field(primary_key=True)
    owner: str = ""
    mass: Mass = kept(MassColumn)
    elements: Mapping[str, int] = kept(ELEMENTS)


class LedgerReservation(Table, table=True):
    """What a planned charge, not weighed yet, will take from a lot."""

    __tablename__: ClassVar[str] = "ledger_reservation"
    __table_args__ = at_least(1, "mass")

    flask: str = Field(primary_key=True)
    lot: str = Field(primary_key=True, foreign_key="lot.id", index=True)
    mass: Mass = kept(MassColumn)


keep_append_only("ledger_entry", "id = NEW.id", "key = NEW.key", "reverses = NEW.reverses")
keep_append_only("ledger_posting", "(entry = NEW.entry AND line = NEW.line)")
