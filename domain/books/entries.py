"""Entries: postings that balance, for the mass and for every element."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from domain.books.accounts import MAY_OWE, OWNED, Account, AccountKind
from domain.books.content import NOTHING, Content, melted, together
from domain.errors import InvalidValue
from domain.saying import listed, say
from domain.units import Mass, Share, total


class EntryKind(StrEnum):
    OPENING = "opening"
    RECEIPT = "received"
    CHARGE = "charged"
    CAST = "cast"
    SHELVED = "back on the shelf"
    ISSUE = "taken out"
    RETURN = "came back"
    COUNT = "counted"
    ASSAY = "assayed"
    GIVEN_BACK = "given back"
    REFINER = "to the refiner"
    INVESTED = "invested"
    CORRECTION = "taken back"


WEIGHED = {
    EntryKind.CHARGE: say("charge weighed in"),
    EntryKind.CAST: say("castings and returns weighed"),
    EntryKind.SHELVED: say("returns back on the shelf"),
    EntryKind.REFINER: say("returns into the refiner's lot"),
}
"""What is done with a scale on the floor, in words."""


@dataclass(frozen=True, slots=True)
class Posting:
    """``content`` is positive for what came into the account."""

    account: Account
    content: Content


def balanced(postings: Iterable[Posting]) -> bool:
    """Whether masses and every element sum to nothing."""
    return together(p.content for p in postings) == NOTHING


def moved(source: Account, target: Account, content: Content) -> tuple[Posting, ...]:
    return (Posting(source, -content), Posting(target, content))


def gathered(parts: Iterable[tuple[Account, Content]], target: Account) -> tuple[Posting, ...]:
    """All of ``parts`` into one account: a charge into its melt."""
    taken = list(parts)
    return (*(Posting(account, -content) for account, content in taken), Posting(target, together(c for _, c in taken)))


def poured(
    source: Account, charged: Content, outs: Iterable[tuple[Account, Mass]], loss: Account, losses: Mapping[str, Share]
) -> tuple[Posting, ...]:
    """A melt that is used up: pieces to their jobs, buttons and sprues to the returns, the rest lost.

    Raises ``InvalidValue`` when more came out than was charged.
    """
    listed = [(account, mass) for account, mass in outs if mass.base]
    left, lost = melted(charged, total(Mass, (mass for _, mass in listed)), losses)
    postings = [Posting(source, -charged)]
    for account, mass in listed:
        part = left.part(mass)
        left = left - part
        postings.append(Posting(account, part))
    return (*postings, Posting(loss, lost)) if lost != NOTHING else tuple(postings)


def mirrored(postings: Iterable[Posting]) -> tuple[Posting, ...]:
    """The counter-entry."""
    return tuple(Posting(p.account, -p.content) for p in postings)


def owner_of(owners: Mapping[Account, str], postings: Iterable[Posting]) -> str:
    """Whose metal an entry moves: a job's customer's, or the shop's (empty).

    ``owners``: of the accounts that hold metal already. Raises ``InvalidValue`` where the metal of two
    would meet, or a customer's would go into another job.
    """
    owned = [p for p in postings if p.account.kind in OWNED and p.account in owners]
    found = {owners[p.account] for p in owned}
    if len(found) > 1:
        whose = listed(say("{account} is {whose}", account=p.account.words, whose=_whose(owners[p.account])) for p in owned)
        raise InvalidValue("lot", say("a customer's own metal is never blended: {whose}", whose=whose))
    owner = found.pop() if found else ""
    for posting in postings:
        _keeps_to(owner, posting)
    return owner


def _keeps_to(owner: str, posting: Posting) -> None:
    account = posting.account
    if not owner or posting.content.mass.base <= 0:
        return
    if account.kind in (AccountKind.JOB, AccountKind.CUSTOMER) and account.ref != owner:
        raise InvalidValue(
            "lot",
            say(
                "this is {whose}; it is used for that job only and given back, not for {account}",
                whose=_whose(owner),
                account=account.words,
            ),
        )
    if account.kind is AccountKind.REFINER:
        raise InvalidValue("lot", say("this is {whose}; give it back, it does not go to the refiner", whose=_whose(owner)))


def _whose(owner: str) -> str:
    return say("the own metal of job {job}'s customer", job=owner) if owner else say("the shop's")


def may_stand(account: Account, balance: Content) -> bool:
    """Whether an account may hold this: only those outside the house may hold less than nothing."""
    return account.kind in MAY_OWE or balance.sound
