"""Entries of the books as pages show them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from urllib.parse import quote

from domain.books.accounts import Account, AccountKind
from domain.books.content import Content, composition_of
from domain.books.entries import Posting
from domain.books.trace import Trace
from domain.saying import listed, say
from domain.units import Mass, Share, total
from webapp.formats import amount, exact_mass, local
from webapp.languages.recall import recalled
from webapp.store.books import Entry
from webapp.store.supplies import Moved
from webapp.views.book_words import ENTRIES, REASON_WORDS, REFINER, SOURCES, SUPPLIES, USES, WORDS


@dataclass(frozen=True, slots=True, kw_only=True)
class AccountLink:
    text: str
    href: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MovementLine:
    """One entry as one account sees it. ``amount``: signed, in words. ``other``: where it came from or went to, in words."""

    entry: int
    at: datetime
    what: str
    amount: str
    other: str
    note: str
    taken_back: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class EntryLine:
    """``who`` made it, empty where nobody was signed in. ``out`` and ``into``: accounts with what left them and what
    came in. ``reverses`` and ``taken_back_by``: numbers of entries."""

    entry: int
    at: datetime
    who: str
    what: str
    flask: str
    note: str
    out: tuple[tuple[AccountLink, Mass], ...]
    into: tuple[tuple[AccountLink, Mass], ...]
    reverses: int | None
    taken_back_by: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class BalanceLine:
    """All accounts of a kind. ``accounts``: how many hold something. ``share``: of all metal that came."""

    kind: AccountKind
    what: str
    accounts: int
    mass: Mass
    href: str
    share: Share


@dataclass(frozen=True, slots=True, kw_only=True)
class WhereLine:
    """``mass`` of the metal that is followed went from one account to another, ``share`` of all of it."""

    source: AccountLink
    target: AccountLink
    mass: Mass
    share: Share
    first: datetime


def account_words(account: Account) -> str:
    """An account as people call it."""
    if account.kind is AccountKind.REFINER:
        return REFINER.get(account.ref, WORDS[account.kind])
    ref = REASON_WORDS.get(account.ref, account.ref) if account.kind is AccountKind.ADJUSTMENT else account.ref
    return say("{kind} {ref}", kind=WORDS[account.kind], ref=ref) if ref else WORDS[account.kind]


def account_link(account: Account) -> AccountLink:
    return AccountLink(text=account_words(account), href=f"/books/account/{account.kind}/{quote(account.ref or '-', safe='')}")


def movement_lines(entries: Iterable[Entry], account: Account, timezone: str) -> tuple[MovementLine, ...]:
    """``entries`` as ``account`` sees them, in the shop's local time."""
    return tuple(
        MovementLine(
            entry=entry.id,
            at=local(entry.at, timezone),
            what=ENTRIES[entry.kind],
            amount=exact_mass(entry.of(account)),
            other=listed(dict.fromkeys(account_words(p.account) for p in entry.postings if p.account != account)),
            note=recalled(entry.note),
            taken_back=entry.taken_back_by is not None,
        )
        for entry in entries
    )


def supply_movements(moves: Iterable[Moved], unit: str, timezone: str) -> tuple[MovementLine, ...]:
    """What moved of a consumable, in the shop's local time."""
    return tuple(
        MovementLine(
            entry=one.id,
            at=local(one.at, timezone),
            what=SUPPLIES[one.kind],
            amount=amount(one.amount, unit),
            other=_other(one),
            note=recalled(one.note),
            taken_back=one.taken_back,
        )
        for one in moves
    )


def _other(one: Moved) -> str:
    if one.per is not None and one.flask:
        return say("{per} {flask}", per=USES[one.per], flask=one.flask)
    return SOURCES.get(one.other, one.other)


def entry_lines(entries: Iterable[Entry], timezone: str) -> tuple[EntryLine, ...]:
    return tuple(
        EntryLine(
            entry=entry.id,
            at=local(entry.at, timezone),
            who=entry.who,
            what=ENTRIES[entry.kind],
            flask=entry.flask or "",
            note=recalled(entry.note),
            out=_side(entry.postings, -1),
            into=_side(entry.postings, 1),
            reverses=entry.reverses,
            taken_back_by=entry.taken_back_by,
        )
        for entry in entries
    )


def _side(postings: Iterable[Posting], sign: int) -> tuple[tuple[AccountLink, Mass], ...]:
    found = [(p.account, sign * p.content.mass.base) for p in postings]
    return tuple((account_link(account), Mass(mass)) for account, mass in found if mass > 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """``came``: metal from outside, ``there``: where it is, each with its share of all that came. ``together``: of
    either side, which are the same where the books hold. ``powder``: investment powder, which is no metal."""

    came: tuple[BalanceLine, ...]
    there: tuple[BalanceLine, ...]
    together: Mass
    powder: tuple[BalanceLine, ...]


def held(sums: Mapping[AccountKind, tuple[int, Mass]], powder_outside: Mapping[AccountKind, Mass], cleaning: Mass) -> Held:
    """What came and where it is, in the order in which metal passes through. ``cleaning``: of what is lost, the part
    that cleaning took off."""
    came = [_line(kind, words, sums, powder_outside.get(kind, Mass(0)), -1) for kind, words in OUTSIDE.items() if kind in sums]
    there = [_line(kind, words, sums, Mass(0), 1) for kind, words in INSIDE.items() if kind in sums]
    whole = total(Mass, (line.mass for line in came))
    if cleaning.base:
        there = [replace(line, what=MELTED, mass=line.mass - cleaning) if line.kind is AccountKind.LOSS else line for line in there]
        href = f"/books?of={AccountKind.LOSS}"
        there.append(BalanceLine(kind=AccountKind.LOSS, what=CLEANED, accounts=0, mass=cleaning, href=href, share=Share(0)))
    return Held(
        came=tuple(_shared(line, whole) for line in came),
        there=tuple(_shared(line, whole) for line in there),
        together=total(Mass, (line.mass for line in there)),
        powder=tuple(_line(kind, words, sums, Mass(0), 1) for kind, words in POWDERS.items() if kind in sums),
    )


def _line(kind: AccountKind, what: str, sums: Mapping[AccountKind, tuple[int, Mass]], powder: Mass, sign: int) -> BalanceLine:
    accounts, mass = sums[kind]
    return BalanceLine(
        kind=kind, what=what, accounts=accounts, mass=(mass - powder).times(sign), href=f"/books?of={kind}", share=Share(0)
    )


def _shared(line: BalanceLine, whole: Mass) -> BalanceLine:
    return replace(line, share=Share(round(line.mass.base * 1_000_000 / whole.base)) if whole.base else Share(0))


OUTSIDE = {
    AccountKind.SUPPLIER: say("from suppliers"),
    AccountKind.CUSTOMER: say("customers' own metal, in the house or in their pieces"),
    AccountKind.ADJUSTMENT: say("opening balances, counts and other use, in all"),
}
INSIDE = {
    AccountKind.LOT: say("in lots on the shelf"),
    AccountKind.MELT: say("charged, not yet weighed out"),
    AccountKind.RETURNS: say("buttons and sprues, not yet clean"),
    AccountKind.JOB: say("in pieces of jobs"),
    AccountKind.REFINER: say("in the refiner's lot, or sent"),
    AccountKind.LOSS: say("lost"),
}
POWDERS = {AccountKind.POWDER: say("on the shelf"), AccountKind.MOULD: say("used in moulds")}
ALL = (
    OUTSIDE
    | INSIDE
    | {AccountKind.POWDER: say("investment powder on the shelf"), AccountKind.MOULD: say("investment powder in moulds")}
)
"""What all accounts of a kind together hold."""
MELTED, CLEANED = say("lost in the melt"), say("lost in cleaning: buttons and sprues before and after")


def element_lines(content: Content) -> tuple[tuple[str, Mass, Share], ...]:
    """By element, its mass to the nearest milligram, and its share."""
    if content.mass.base <= 0:
        return ()
    shares = composition_of(content)
    order = sorted(content.elements.items(), key=lambda item: -item[1])
    return tuple((element, Mass(round(amount / 1_000_000)), shares.get(element, Share(0))) for element, amount in order)


def where_lines(trace: Trace, at: dict[int, datetime], timezone: str) -> tuple[WhereLine, ...]:
    """The steps, those between the same two accounts together, in the order of the trace."""
    sums: defaultdict[tuple[Account, Account], int] = defaultdict(int)
    first: dict[tuple[Account, Account], datetime] = {}
    for step in trace.steps:
        sums[step.source, step.target] += step.nanograms
        first.setdefault((step.source, step.target), at[step.entry])
    return tuple(
        WhereLine(
            source=account_link(source),
            target=account_link(target),
            mass=Mass(round(amount / 1_000_000)),
            share=_share(amount, trace),
            first=local(first[source, target], timezone),
        )
        for (source, target), amount in sums.items()
    )


def end_lines(trace: Trace, *, back: bool) -> tuple[tuple[AccountLink, Mass, Share], ...]:
    """Where it all came from, or where it is now, the most first."""
    ends = sorted(trace.ends(back=back).items(), key=lambda item: -item[1])
    return tuple((account_link(account), Mass(round(amount / 1_000_000)), _share(amount, trace)) for account, amount in ends)


def _share(amount: int, trace: Trace) -> Share:
    return Share(round(amount / trace.mass.base)) if trace.mass.base else Share(0)
