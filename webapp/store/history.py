"""The books as traces read them: standing entries alone, many at a time, each read once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import datetime
from functools import cached_property
from itertools import groupby, islice
from typing import Any

from sqlalchemy import BigInteger, ColumnElement, func, select, type_coerce, union_all
from sqlmodel import col

from domain.books.accounts import Account, AccountKind
from domain.books.entries import EntryKind, Posting
from webapp.store.books import postings_of
from webapp.store.engine import Session
from webapp.store.tables import LedgerEntry, LedgerPosting

AT_ONCE = 400
"""accounts or entries that are read together"""
OF_A_FLASK = frozenset({AccountKind.MELT, AccountKind.RETURNS})
"""Accounts with few entries each, that a trace goes through by the hundred."""


class History:
    """``_soon``: accounts that were met and not asked for yet; ``_ahead``: entries of accounts of flasks, likewise."""

    def __init__(self, session: Session) -> None:
        self.session = session
        self._moves: dict[Account, list[tuple[int, int]]] = {}
        self._known: dict[int, tuple[Posting, ...]] = {}
        self._soon: dict[Account, None] = {}
        self._ahead: dict[int, None] = {}

    def moves(self, account: Account) -> list[tuple[int, int]]:
        """The entries that touch an account, the oldest first, with the milligrams that came in."""
        if account not in self._moves:
            self._read_moves(self._with_it(account))
        return self._moves[account]

    def before(self, account: Account, entry: int) -> tuple[int, Iterator[tuple[int, int]]]:
        """The milligrams that an account held before an entry, and its moves before it, the latest first."""
        if account.kind in OF_A_FLASK or account in self._moves:
            earlier = [move for move in self.moves(account) if move[0] < entry]
            return sum(mass for _, mass in earlier), reversed(earlier)
        held = self._sum(_of(account), col(LedgerPosting.entry) < entry)
        if self._gone:
            held -= self._sum(_of(account), col(LedgerPosting.entry) < entry, col(LedgerPosting.entry).in_(_GONE))
        return held, self._backwards(account, entry)

    def _backwards(self, account: Account, entry: int) -> Iterator[tuple[int, int]]:
        """Most traces need a few hundred entries of an account that has hundreds of thousands."""
        most = 250
        while True:
            query = _MOVES.where(_of(account), col(LedgerPosting.entry) < entry).group_by(col(LedgerPosting.entry))
            rows = self._all(query.order_by(col(LedgerPosting.entry).desc()).limit(most))
            yield from ((number, int(mass)) for number, mass in rows if number not in self._gone)
            if len(rows) < most:
                return
            entry, most = rows[-1][0], most * 2

    def _with_it(self, account: Account) -> list[Account]:
        if account.kind not in OF_A_FLASK:
            return [account]
        alike = [one for one in self._soon if one.kind is account.kind and one != account][: AT_ONCE - 1]
        return [account, *alike]

    def _read_moves(self, accounts: list[Account]) -> None:
        """Of accounts of one kind."""
        names = [account.ref for account in accounts]
        ref, entry = col(LedgerPosting.ref), col(LedgerPosting.entry)
        query = _MOVES.add_columns(ref).where(LedgerPosting.account == accounts[0].kind, ref.in_(names))  # type: ignore[arg-type]
        found: defaultdict[str, list[tuple[int, int]]] = defaultdict(list)
        rows = self._all(query.group_by(ref, entry).order_by(ref, entry))
        for name, moves in groupby(rows, key=lambda row: row[2]):
            found[name] = [(number, int(mass)) for number, mass, _ in moves if number not in self._gone]
        for account in accounts:
            self._moves[account] = found[account.ref]
            self._soon.pop(account, None)
            if account.kind in OF_A_FLASK:
                self._ahead |= {number: None for number, _ in found[account.ref] if number not in self._known}

    def _sum(self, *where: ColumnElement[bool]) -> int:
        return int(self.session.connection().execute(select(func.sum(_MASS)).where(*where)).scalar() or 0)

    def _all(self, query: Any) -> list[Any]:
        return list(self.session.connection().execute(query).all())

    @cached_property
    def _gone(self) -> frozenset[int]:
        """Counter-entries and what they took back."""
        return frozenset(number for (number,) in self.session.connection().execute(_GONE) if number is not None)

    def postings(self, entry: int, soon: Iterable[int]) -> tuple[Posting, ...]:
        """The postings of an entry. ``soon``: entries that are asked for next, read with it."""
        if entry not in self._known:
            wanted = {entry, *(number for number in soon if number not in self._known), *islice(self._ahead, AT_ONCE)}
            found = postings_of(self.session, sorted(wanted))
            self._known |= {number: tuple(postings) for number, postings in found.items()}
            self._ahead = {number: None for number in self._ahead if number not in self._known}
            met = (p.account for postings in found.values() for p in postings)
            self._soon |= {a: None for a in met if a.kind in OF_A_FLASK and a not in self._moves}
        return self._known[entry]


_MASS = type_coerce(col(LedgerPosting.mass), BigInteger)
"""plain whole numbers: an account may have hundreds of thousands of them"""
_MOVES = select(col(LedgerPosting.entry), func.sum(_MASS))
_COUNTER = col(LedgerEntry.reverses).is_not(None)
_GONE = union_all(select(col(LedgerEntry.id)).where(_COUNTER), select(col(LedgerEntry.reverses)).where(_COUNTER))


def _of(account: Account) -> ColumnElement[bool]:
    return (col(LedgerPosting.account) == account.kind) & (col(LedgerPosting.ref) == account.ref)


def told(session: Session, numbers: Iterable[int]) -> dict[int, tuple[datetime, EntryKind]]:
    """When entries were made, in UTC, and what they were."""
    wanted = sorted(set(numbers))
    found: dict[int, tuple[datetime, EntryKind]] = {}
    for some in (wanted[n : n + 500] for n in range(0, len(wanted), 500)):
        query = select(col(LedgerEntry.id), col(LedgerEntry.at), col(LedgerEntry.kind)).where(col(LedgerEntry.id).in_(some))
        found |= {number: (at, EntryKind(kind)) for number, at, kind in session.connection().execute(query) if number is not None}
    return found
