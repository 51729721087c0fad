"""The books: entries and their postings, which the database itself keeps from being changed; the
balance of every account; what is reserved for planned charges."""

from collections.abc import Mapping
from datetime import datetime
from typing import ClassVar

from sqlalchemy import DDL, Index, event
from sqlmodel import Field

from domain.books.accounts import AccountKind
from domain.books.entries import EntryKind
from domain.units import Mass
from webapp.store.columns import InstantColumn, JsonOf, MassColumn, at_least, checks, kept, one_of, utc_now
from webapp.store.tables.base import METADATA, Table

ELEMENTS = JsonOf(dict[str, int])
"""nanograms by chemical symbol"""


class LedgerEntry(Table, table=True):
    """Append-only. ``key``: made by the client, so that a repeated request moves nothing twice.
    ``reverses``: the entry that this counter-entry takes back; each is taken back once at most.
    ``alloy``: what was melted, for charges and casts."""

    __tablename__: ClassVar[str] = "ledger_entry"

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
    __table_args__ = (Index("ix_ledger_posting_account_ref_entry", "account", "ref", "entry"),)

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
    __table_args__ = checks(nothing_is_owed="mass >= 0 OR account IN ('supplier', 'customer', 'adjustment')")

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


UNIQUE_TOGETHER = {
    "ledger_entry": ("id = NEW.id", "key = NEW.key", "reverses = NEW.reverses"),
    "ledger_posting": ("(entry = NEW.entry AND line = NEW.line)",),
}


def append_only(table: str, dialect: str) -> tuple[str, ...]:
    """The statements that make the database refuse to change or delete rows of a table. SQLite's INSERT OR
    REPLACE deletes without its DELETE triggers, so rows that are there already are looked for as well."""
    says = f"{table} is append-only"
    if dialect == "sqlite":
        there = " OR ".join(UNIQUE_TOGETHER[table])
        changes = (("no_update", "UPDATE", ""), ("no_delete", "DELETE", ""))
        replaces = ("no_replace", "INSERT", f" WHEN EXISTS (SELECT 1 FROM {table} WHERE {there})")
        return tuple(
            f"CREATE TRIGGER {table}_{name} BEFORE {act} ON {table}{when} BEGIN SELECT RAISE(ABORT, '{says}'); END"
            for name, act, when in (*changes, replaces)
        )
    return (
        f"CREATE OR REPLACE FUNCTION {table}_refuse() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{says}' USING ERRCODE = 'integrity_constraint_violation'; END $$",
        f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW EXECUTE FUNCTION {table}_refuse()",
        f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} FOR EACH STATEMENT EXECUTE FUNCTION {table}_refuse()",
    )


for _name in UNIQUE_TOGETHER:
    for _dialect in ("sqlite", "postgresql"):
        for _statement in append_only(_name, _dialect):
            event.listen(METADATA.tables[_name], "after_create", DDL(_statement).execute_if(dialect=_dialect))  # type: ignore[no-untyped-call]
