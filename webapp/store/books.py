"""The books: entries that balance, what they leave in every account, and reading both.

Every write goes through ``post``, in the transaction of its caller: entry, postings and balances stand
or fall together. Nothing is changed or deleted; ``take_back`` writes a counter-entry.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy import BigInteger, ColumnElement, Select, and_, case, func, or_, type_coerce
from sqlalchemy.orm import aliased
from sqlmodel import col, select

from domain.books.accounts import Account, AccountKind
from domain.books.content import NANOGRAMS, NOTHING, POWDER, Content
from domain.books.entries import EntryKind, Posting, balanced, may_stand, mirrored, owner_of
from domain.errors import DomainError, InvalidValue
from domain.saying import say
from domain.shop.lots import MetalKind
from domain.units import Mass
from webapp.acting import actor
from webapp.formats import exact_mass
from webapp.store.columns import utc_now
from webapp.store.engine import Session
from webapp.store.tables import LedgerBalance, LedgerEntry, LedgerPosting, LotRow, PowderRow


@dataclass(frozen=True, slots=True)
class Written:
    """``fresh``: false where the same key was written before, so that nothing moved again."""

    entry: int
    fresh: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """``at`` in UTC. ``reverses``: the entry that it takes back; ``taken_back_by``: the one that takes it back."""

    id: int
    at: datetime
    kind: EntryKind
    flask: str | None
    alloy: str | None
    who: str
    note: str
    reverses: int | None
    taken_back_by: int | None
    postings: tuple[Posting, ...]

    def of(self, account: Account) -> Mass:
        """What it moved into (or, below nothing, out of) an account."""
        return Mass(sum(p.content.mass.base for p in self.postings if p.account == account))


def post(
    session: Session,
    kind: EntryKind,
    postings: Sequence[Posting],
    *,
    flask: str | None = None,
    alloy: str | None = None,
    at: datetime | None = None,
    who: str = "",
    note: str = "",
    key: str | None = None,
    reverses: int | None = None,
) -> Written:
    """Write one entry down, with the balances that it leaves.

    Raises ``InvalidValue`` where an account would hold less than nothing, or a customer's own metal
    would meet other metal or go into another job. A ``key`` that was seen moves nothing again.
    """
    before = with_key(session, key)
    if before is not None:
        return Written(before, False)
    if not balanced(postings):
        raise ValueError("an entry must balance, in mass and in every element")
    rows = _locked(session, {p.account for p in postings})
    lots = _lots(session, rows)
    owner = owner_of(_owners(rows, lots), postings)
    _add_up(session, rows, lots, owner, postings)
    entry = LedgerEntry(
        kind=kind, at=at or utc_now(), flask=flask, alloy=alloy, who=who or actor(), note=note, key=key or None, reverses=reverses
    )
    session.add(entry)
    session.flush()
    assert entry.id is not None  # the flush has numbered it
    session.add_all(_rows(entry.id, postings))
    session.flush()
    return Written(entry.id, True)


def with_key(session: Session, key: str | None) -> int | None:
    """The entry that was written with this key."""
    return session.exec(select(LedgerEntry.id).where(LedgerEntry.key == key)).first() if key else None


def take_back(
    session: Session, entry: int, reason: str, *, who: str = "", key: str | None = None, at: datetime | None = None
) -> Written:
    """Write the counter-entry of an entry. Raises ``DomainError`` where it is one itself, was taken back
    before, or where what it moved has moved on since."""
    before = with_key(session, key)
    if before is not None:
        return Written(before, False)
    found = find(session, entry)
    if found is None:
        raise DomainError(say("There is no such entry in the books."))
    if found.reverses is not None:
        raise DomainError(say("This entry takes another one back. Write down what really happened instead."))
    if found.taken_back_by is not None:
        raise DomainError(say("This entry was taken back already. Nothing was changed."))
    try:
        return post(
            session,
            EntryKind.CORRECTION,
            mirrored(found.postings),
            flask=found.flask,
            alloy=found.alloy,
            who=who,
            note=reason,
            key=key,
            at=at,
            reverses=entry,
        )
    except InvalidValue as error:
        raise DomainError(
            say("It cannot be taken back, because what it moved has moved on since: {error}.", error=str(error))
        ) from None


def _locked(session: Session, accounts: Iterable[Account]) -> dict[Account, LedgerBalance | None]:
    """The balance rows of accounts, held until the transaction ends, always in the same order."""
    wanted = sorted(accounts)
    query = select(LedgerBalance).where(_any_of(wanted, LedgerBalance)).order_by(col(LedgerBalance.account), col(LedgerBalance.ref))
    found = {Account(row.account, row.ref): row for row in session.exec(query.with_for_update()).all()}
    return {account: found.get(account) for account in wanted}


def _any_of(accounts: Iterable[Account], table: type[LedgerBalance] | type[LedgerPosting]) -> ColumnElement[bool]:
    return or_(*(and_(col(table.account) == a.kind, col(table.ref) == a.ref) for a in accounts))


def _lots(session: Session, accounts: Iterable[Account]) -> dict[Account, LotRow | PowderRow]:
    """The shelf's own rows of lots and powders, which show their balance."""
    found: dict[Account, LotRow | PowderRow] = {}
    for account in accounts:
        if account.kind in (AccountKind.LOT, AccountKind.POWDER):
            row: LotRow | PowderRow | None
            row = session.get(LotRow, account.ref) if account.kind is AccountKind.LOT else session.get(PowderRow, account.ref)
            if row is None:
                raise InvalidValue(str(account.kind), _not_there(account))
            found[account] = row
    return found


def _owners(rows: Mapping[Account, LedgerBalance | None], lots: Mapping[Account, LotRow | PowderRow]) -> dict[Account, str]:
    """Of accounts that hold metal, as it came; of empty lots, as the shelf says."""
    held = {account: row.owner for account, row in rows.items() if row is not None and row.mass.base > 0}
    return {account: row.owner_job or "" for account, row in lots.items() if isinstance(row, LotRow)} | held


def _add_up(
    session: Session,
    rows: Mapping[Account, LedgerBalance | None],
    lots: Mapping[Account, LotRow | PowderRow],
    owner: str,
    postings: Iterable[Posting],
) -> None:
    """Nothing is changed before everything is known to stand: a refused entry leaves no trace."""
    after: dict[Account, Content] = {}
    for account, moved in _sums(postings).items():
        row = rows[account]
        before = NOTHING if row is None else Content(row.mass, row.elements)
        after[account] = before + moved
        if not may_stand(account, after[account]):
            raise InvalidValue("mass", _too_little(account, before, moved))
    for account, balance in after.items():
        row = rows[account] or LedgerBalance(account=account.kind, ref=account.ref, mass=Mass(0), elements={})
        row.mass, row.elements, row.owner = balance.mass, balance.elements, owner
        session.add(row)
        if account in lots:
            _show(lots[account], balance.mass)


def _sums(postings: Iterable[Posting]) -> dict[Account, Content]:
    sums: dict[Account, Content] = {}
    for posting in postings:
        sums[posting.account] = sums.get(posting.account, NOTHING) + posting.content
    return sums


def _show(row: LotRow | PowderRow, mass: Mass) -> None:
    """The shelf shows what its account holds. A recycled lot that is used up leaves the lists, and comes
    back with its metal."""
    if row.mass != mass:
        row.mass = mass
    if isinstance(row, LotRow) and row.kind is MetalKind.RECYCLED and (row.archived_at is None) != (mass.base > 0):
        row.archived_at = None if mass.base > 0 else utc_now()


def _too_little(account: Account, before: Content, moved: Content) -> str:
    left, wanted = exact_mass(before.mass), exact_mass(-moved.mass)
    if account.kind in (AccountKind.LOT, AccountKind.POWDER):
        return say("only {left} are left, not {wanted}", left=left, wanted=wanted)
    return say("only {left} are left in {account}, not {wanted}", left=left, account=account.words, wanted=wanted)


def _not_there(account: Account) -> str:
    if account.kind is AccountKind.LOT:
        return say("there is no lot “{name}”", name=account.ref)
    return say("there is no powder “{name}”", name=account.ref)


def _rows(entry: int, postings: Iterable[Posting]) -> list[LedgerPosting]:
    return [
        LedgerPosting(
            entry=entry,
            line=line,
            account=p.account.kind,
            ref=p.account.ref,
            mass=p.content.mass,
            elements=p.content.elements,
        )
        for line, p in enumerate(postings, 1)
    ]


def balance(session: Session, account: Account) -> Content:
    """What an account holds; nothing for one that was never used."""
    row = session.get(LedgerBalance, (account.kind, account.ref))
    return NOTHING if row is None else Content(row.mass, row.elements)


def balances(session: Session, kind: AccountKind, *, empty: bool = False) -> dict[str, Content]:
    """What all accounts of a kind hold, by ref; those that hold nothing only where asked."""
    query = select(LedgerBalance).where(LedgerBalance.account == kind).order_by(col(LedgerBalance.ref))
    if not empty:
        query = query.where(LedgerBalance.mass != Mass(0))
    return {row.ref: Content(row.mass, row.elements) for row in session.exec(query).all()}


def holding(session: Session, kind: AccountKind, *, named: str = "", after: str = "", most: int) -> list[tuple[str, Mass]]:
    """Accounts of a kind that hold something, by name: those whose name begins with ``named``, and those ``after``
    the last of the page before."""
    query = select(LedgerBalance).where(LedgerBalance.account == kind, LedgerBalance.mass != Mass(0))
    if named:
        query = query.where(func.lower(col(LedgerBalance.ref)).startswith(named.lower(), autoescape=True))
    if after:
        query = query.where(col(LedgerBalance.ref) > after)
    return [(row.ref, row.mass) for row in session.exec(query.order_by(col(LedgerBalance.ref)).limit(most)).all()]


def totals(session: Session) -> dict[AccountKind, tuple[int, Mass]]:
    """By kind, how many accounts hold something, and how much all of them hold."""
    held = func.sum(case((col(LedgerBalance.mass) != Mass(0), 1), else_=0))
    query = select(LedgerBalance.account, held, func.sum(col(LedgerBalance.mass))).group_by(col(LedgerBalance.account))
    return {
        AccountKind(kind): (int(count), mass if isinstance(mass, Mass) else Mass(int(mass)))
        for kind, count, mass in session.exec(query).all()
    }


def not_taken_back() -> ColumnElement[bool]:
    """A condition on entries."""
    counter = aliased(LedgerEntry)
    return ~select(counter.id).where(col(counter.reverses) == col(LedgerEntry.id)).exists()


def powder_outside(session: Session) -> dict[AccountKind, Mass]:
    """What of the balances of suppliers and of adjustments is investment powder."""
    found: dict[AccountKind, Mass] = {}
    for kind in (AccountKind.SUPPLIER, AccountKind.ADJUSTMENT):
        held = balances(session, kind).values()
        found[kind] = Mass(sum(content.elements.get(POWDER, 0) for content in held) // NANOGRAMS)
    return found


def lost_in_cleaning(session: Session) -> Mass:
    """What buttons and sprues weighed before they were cleaned, less what they weighed clean."""
    kind = select(LedgerEntry.kind).where(col(LedgerEntry.id) == col(LedgerPosting.entry), not_taken_back()).scalar_subquery()
    mass = func.sum(type_coerce(col(LedgerPosting.mass), BigInteger))
    query = select(mass).where(LedgerPosting.account == AccountKind.LOSS, kind.in_((EntryKind.SHELVED, EntryKind.REFINER)))
    return Mass(int(session.exec(query).one() or 0))


def find(session: Session, entry: int) -> Entry | None:
    row = session.get(LedgerEntry, entry)
    return None if row is None else _read(session, [row])[0]


def entries(
    session: Session,
    *,
    account: Account | None = None,
    flask: str | None = None,
    kinds: Iterable[EntryKind] = (),
    since: datetime | None = None,
    before: int | None = None,
    standing: bool = False,
    newest: int | None = 50,
) -> tuple[Entry, ...]:
    """Entries with their postings, the newest first.

    ``account``, ``flask``, ``kinds``: only those that touch them. ``since``: an instant. ``before``: only
    entries older than this one, for the next page. ``standing``: without counter-entries and what they took back.
    """
    query = select(LedgerEntry).order_by(col(LedgerEntry.id).desc())
    if account is not None:
        bounded = newest if flask is None and not kinds and since is None and not standing else None
        query = query.where(col(LedgerEntry.id).in_(_touching(account, before, bounded)))
    if flask is not None:
        query = query.where(LedgerEntry.flask == flask)
    if kinds:
        query = query.where(col(LedgerEntry.kind).in_(list(kinds)))
    if since is not None:
        query = query.where(LedgerEntry.at >= since)
    if before is not None:
        query = query.where(col(LedgerEntry.id) < before)
    if standing:
        query = query.where(col(LedgerEntry.reverses).is_(None), not_taken_back())
    return _read(session, session.exec(query if newest is None else query.limit(newest)).all())


def _touching(account: Account, before: int | None, newest: int | None) -> Select[Any]:
    """The entries that touch an account, the newest first, so many of them where nothing else is asked."""
    query = select(LedgerPosting.entry).where(LedgerPosting.account == account.kind, LedgerPosting.ref == account.ref)
    if before is not None:
        query = query.where(col(LedgerPosting.entry) < before)
    return (
        query
        if newest is None
        else query.group_by(col(LedgerPosting.entry)).order_by(col(LedgerPosting.entry).desc()).limit(newest)
    )


def _read(session: Session, rows: Sequence[LedgerEntry]) -> tuple[Entry, ...]:
    ids = [row.id for row in rows if row.id is not None]
    postings: dict[int, list[Posting]] = {}
    backs: dict[int, int] = {}
    for some in (ids[n : n + 500] for n in range(0, len(ids), 500)):
        postings |= postings_of(session, some)
        query = select(LedgerEntry.reverses, LedgerEntry.id).where(col(LedgerEntry.reverses).in_(some))
        backs |= {of: by for of, by in session.exec(query).all() if of is not None and by is not None}
    return tuple(_entry(row, postings, backs) for row in rows)


def postings_of(session: Session, ids: Sequence[int]) -> dict[int, list[Posting]]:
    query = select(LedgerPosting).where(col(LedgerPosting.entry).in_(ids))
    found: dict[int, list[Posting]] = {}
    for row in session.exec(query.order_by(col(LedgerPosting.entry), col(LedgerPosting.line))).all():
        found.setdefault(row.entry, []).append(Posting(Account(row.account, row.ref), Content(row.mass, row.elements)))
    return found


def _entry(row: LedgerEntry, postings: Mapping[int, list[Posting]], backs: Mapping[int, int]) -> Entry:
    assert row.id is not None  # it came from the database
    return Entry(
        id=row.id,
        at=row.at,
        kind=row.kind,
        flask=row.flask,
        alloy=row.alloy,
        who=row.who,
        note=row.note,
        reverses=row.reverses,
        taken_back_by=backs.get(row.id),
        postings=tuple(postings.get(row.id, ())),
    )
