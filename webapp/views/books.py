"""Entries of the books as pages show them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from domain.books.accounts import Account, AccountKind
from domain.units import Mass
from webapp.formats import local
from webapp.store.books import Entry

WORDS = {
    AccountKind.SUPPLIER: "supplier",
    AccountKind.CUSTOMER: "customer of job",
    AccountKind.LOT: "lot",
    AccountKind.POWDER: "powder",
    AccountKind.MELT: "melt of flask",
    AccountKind.JOB: "pieces of job",
    AccountKind.RETURNS: "button and sprues of flask",
    AccountKind.LOSS: "loss of flask",
    AccountKind.MOULD: "mould of flask",
    AccountKind.REFINER: "refiner",
    AccountKind.ADJUSTMENT: "adjustment",
}
REFINER = {"pot": "refiner's lot, in the house", "sent": "sent to the refiner"}


@dataclass(frozen=True, slots=True, kw_only=True)
class MovementLine:
    """One entry as one account sees it. ``other``: where it came from or went to, in words."""

    entry: int
    at: datetime
    what: str
    mass: Mass
    other: str
    note: str
    taken_back: bool


def account_words(account: Account) -> str:
    """An account as people call it."""
    if account.kind is AccountKind.REFINER:
        return REFINER.get(account.ref, "refiner")
    return f"{WORDS[account.kind]} {account.ref}".strip()


def movement_lines(entries: tuple[Entry, ...], account: Account, timezone: str) -> tuple[MovementLine, ...]:
    """``entries`` as ``account`` sees them, in the shop's local time."""
    return tuple(_line(entry, account, timezone) for entry in entries)


def _line(entry: Entry, account: Account, timezone: str) -> MovementLine:
    return MovementLine(
        entry=entry.id,
        at=local(entry.at, timezone),
        what=str(entry.kind),
        mass=entry.of(account),
        other=", ".join(dict.fromkeys(account_words(p.account) for p in entry.postings if p.account != account)),
        note=entry.note,
        taken_back=entry.taken_back_by is not None,
    )
