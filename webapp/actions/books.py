"""Reading the books, and following metal through them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from domain.books.accounts import Account, AccountKind
from domain.books.trace import Step, Trace, back_from, forth_from
from domain.errors import DomainError
from domain.intake.table import Cells
from domain.saying import say
from domain.shop.lots import Lot
from domain.units import Mass
from webapp.store import books, nouns
from webapp.store.books import Entry
from webapp.store.engine import Session
from webapp.store.history import History, told

PAGE = 50
"""entries on a page"""
CUSTODY_FIELDS = ("step", "entry", "at", "kind", "from_kind", "from_ref", "to_kind", "to_ref", "mass_ng", "share_ppm")
"""A chain of custody, one line a step: ``at`` in UTC, ``mass_ng`` of the metal that is followed, ``share_ppm``
of all of it. These names are kept."""
ENTRY_FIELDS = (
    "entry",
    "at",
    "kind",
    "flask",
    "alloy",
    "note",
    "reverses",
    "account_kind",
    "account_ref",
    "mass_mg",
    "elements_ng",
)
"""The books, one line a posting; ``elements_ng`` as ``Ag=925000000 Cu=75000000``. These names are kept."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Followed:
    """``moments``: when each entry was made, in UTC; ``kinds``: what it was."""

    trace: Trace
    back: bool
    moments: dict[int, datetime]
    kinds: dict[int, str]


def account_of(kind: str, ref: str) -> Account:
    """The account that an address names. Raises ``DomainError`` for a kind that is none."""
    try:
        return Account(AccountKind(kind), "" if ref == "-" else ref)
    except ValueError:
        raise DomainError(say("“{kind}” is no kind of account.", kind=kind)) from None


def on_its_way(session: Session, account: Account) -> tuple[Mass, str] | None:
    """What is ordered of a lot and in no account yet, and the ISO date on which it is expected."""
    lot = nouns.find(session, Lot, account.ref) if account.kind is AccountKind.LOT else None
    return (lot.mass, lot.arrives) if lot is not None and lot.arrives else None


def accounts_of(session: Session, kind: AccountKind, named: str, after: str) -> tuple[list[tuple[Account, Mass]], str]:
    """A page of the accounts of a kind that hold something, and after which the next page begins, empty where there
    is none."""
    found = books.holding(session, kind, named=named.strip(), after=after, most=PAGE + 1)
    accounts = [(Account(kind, ref), mass) for ref, mass in found[:PAGE]]
    return accounts, found[PAGE - 1][0] if len(found) > PAGE else ""


def follow(session: Session, account: Account, *, back: bool) -> Followed:
    """Where an account's metal came from, or where it went."""
    ledger = History(session)
    trace = back_from(account, ledger) if back else forth_from(account, ledger)
    found = told(session, (step.entry for step in trace.steps))
    return Followed(
        trace=trace,
        back=back,
        moments={number: at for number, (at, _) in found.items()},
        kinds={number: str(kind) for number, (_, kind) in found.items()},
    )


def custody_records(followed: Followed) -> Iterator[Cells]:
    yield CUSTODY_FIELDS
    for number, step in enumerate(followed.trace.steps, 1):
        yield tuple(map(str, _custody_row(number, step, followed)))


def custody_document(followed: Followed) -> dict[str, Any]:
    """The same as a document, with the accounts where the trace ends."""
    trace = followed.trace
    rows = [_custody_row(number, step, followed) for number, step in enumerate(trace.steps, 1)]
    ends = sorted(trace.ends(back=followed.back).items(), key=lambda item: -item[1])
    return {
        "format": "castweek-custody",
        "version": 1,
        "direction": "back" if followed.back else "forth",
        "account": {"kind": str(trace.account.kind), "ref": trace.account.ref},
        "mass_mg": trace.mass.base,
        "whole": trace.whole,
        "ends": [{"kind": str(account.kind), "ref": account.ref, "mass_ng": amount} for account, amount in ends],
        "steps": [dict(zip(CUSTODY_FIELDS, row, strict=True)) for row in rows],
    }


def _custody_row(number: int, step: Step, followed: Followed) -> tuple[Any, ...]:
    return (
        number,
        step.entry,
        _utc(followed.moments[step.entry]),
        followed.kinds[step.entry],
        str(step.source.kind),
        step.source.ref,
        str(step.target.kind),
        step.target.ref,
        step.nanograms,
        round(step.nanograms / followed.trace.mass.base),
    )


def entry_records(entries: Iterable[Entry]) -> Iterator[Cells]:
    yield ENTRY_FIELDS
    for entry in entries:
        yield from (tuple(map(str, row)) for row in _entry_rows(entry))


def _entry_rows(entry: Entry) -> Iterable[tuple[Any, ...]]:
    head = (entry.id, _utc(entry.at), str(entry.kind), entry.flask or "", entry.alloy or "", entry.note, entry.reverses or "")
    for posting in entry.postings:
        elements = " ".join(f"{element}={amount}" for element, amount in posting.content.elements.items())
        yield (*head, str(posting.account.kind), posting.account.ref, posting.content.mass.base, elements)


def _utc(at: datetime) -> str:
    return at.strftime("%Y-%m-%dT%H:%M:%SZ")
