"""What happens to lots and powders on the shelf, beside the melts: each is one entry of the books."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from enum import StrEnum

from domain.books.accounts import POT, Account, AccountKind, Reason, adjustment
from domain.books.content import Content, content_of, powder
from domain.books.entries import EntryKind, Posting, moved
from domain.errors import InvalidValue
from domain.saying import say
from domain.units import Mass, Share
from webapp.store import books
from webapp.store.books import Written
from webapp.store.engine import Session
from webapp.store.tables import LedgerBalance, LotRow, PowderRow

__all__ = ["Happening", "change_lot", "change_powder", "reassay", "reassayed", "settled"]


class Happening(StrEnum):
    """What a person says happened to a lot or a powder."""

    RECEIPT = "receipt"
    ISSUE = "issue"
    RETURN = "return"
    COUNT = "count"
    GIVEN_BACK = "given back"
    REFINER = "refiner"


def change_lot(
    session: Session,
    lot: str,
    happening: Happening,
    mass: Mass,
    *,
    reason: Reason = Reason.OTHER,
    note: str = "",
    key: str | None = None,
    at: datetime | None = None,
) -> Written:
    """Write down what happened to a lot. ``mass``: what came or went, for a count what was found; a count
    that differs from the books moves the difference, for ``reason``.

    Raises ``InvalidValue`` when there is no such lot, or it does not hold so much.
    """
    row = session.get(LotRow, lot)
    if row is None:
        raise InvalidValue("lot", say("there is no lot “{name}”", name=lot))
    if row.arrives:
        raise InvalidValue("mass", say("this delivery is on its way; mark it as arrived under Metal, To order"))
    here = Account(AccountKind.LOT, lot)
    return _change(session, here, happening, mass, _away(row, happening, reason), row.composition, note, key, at)


def change_powder(
    session: Session,
    investment: str,
    happening: Happening,
    mass: Mass,
    *,
    reason: Reason = Reason.OTHER,
    note: str = "",
    key: str | None = None,
) -> Written:
    """The same for investment powder, by investment kind."""
    if session.get(PowderRow, investment) is None:
        raise InvalidValue("powder", say("there is no powder for “{name}”", name=investment))
    if happening in (Happening.GIVEN_BACK, Happening.REFINER):
        raise InvalidValue("kind", say("this is for metal only"))
    supplier = Account(AccountKind.SUPPLIER, investment)
    away = supplier if happening is Happening.RECEIPT else adjustment(_why(happening, reason))
    return _change(session, Account(AccountKind.POWDER, investment), happening, mass, away, None, note, key, None)


KINDS = {
    Happening.RECEIPT: EntryKind.RECEIPT,
    Happening.ISSUE: EntryKind.ISSUE,
    Happening.RETURN: EntryKind.RETURN,
    Happening.COUNT: EntryKind.COUNT,
    Happening.GIVEN_BACK: EntryKind.GIVEN_BACK,
    Happening.REFINER: EntryKind.REFINER,
}


def _change(
    session: Session,
    here: Account,
    happening: Happening,
    mass: Mass,
    away: Account,
    composition: Mapping[str, Share] | None,
    note: str,
    key: str | None,
    at: datetime | None,
) -> Written:
    if mass.base < 0 or (mass.base == 0 and happening is not Happening.COUNT):
        raise InvalidValue("mass", say("give a mass of more than nothing"))
    there = books.balance(session, here)
    come = happening in (Happening.RECEIPT, Happening.RETURN)
    change = mass - there.mass if happening is Happening.COUNT else mass if come else -mass
    postings = moved(away, here, _content(there, change, composition))
    return books.post(session, KINDS[happening], postings, note=note, key=key, at=at)


def _content(there: Content, change: Mass, composition: Mapping[str, Share] | None) -> Content:
    """What leaves is made of what is there; what comes, of what the shelf says the lot is."""
    if change.base < 0 and -change <= there.mass:
        return -there.part(-change)
    return powder(change) if composition is None else content_of(change, composition)


def _away(row: LotRow, happening: Happening, reason: Reason) -> Account:
    """Where it comes from or goes to."""
    if happening is Happening.RECEIPT:
        return Account(AccountKind.CUSTOMER, row.owner_job) if row.owner_job else Account(AccountKind.SUPPLIER, row.metal or "")
    if happening is Happening.GIVEN_BACK:
        if not row.owner_job:
            raise InvalidValue("kind", say("this metal is the shop's own; there is nobody to give it back to"))
        return Account(AccountKind.CUSTOMER, row.owner_job)
    if happening is Happening.REFINER:
        return POT
    if row.owner_job and happening is not Happening.COUNT:
        raise InvalidValue("kind", say("this is a customer's own metal: it is cast for its job, or given back"))
    return adjustment(_why(happening, reason))


def _why(happening: Happening, reason: Reason) -> Reason:
    return reason if happening is Happening.COUNT else Reason.OTHER_USE


def settled(session: Session, row: LotRow | PowderRow) -> None:
    """A mass that came with a row, or was brought in with a week, is an entry too: the books stay whole."""
    here = Account(AccountKind.LOT, row.id) if isinstance(row, LotRow) else Account(AccountKind.POWDER, row.investment)
    wanted = row.mass
    if isinstance(row, LotRow):
        _other_owner(session, row, here)
    there = books.balance(session, here)
    change = wanted - there.mass
    if change.base == 0:
        return
    first = session.get(LedgerBalance, (here.kind, here.ref)) is None
    content = _content(there, change, row.composition if isinstance(row, LotRow) else None)
    kind, note = (EntryKind.OPENING, say("opening balance")) if first else (EntryKind.COUNT, say("brought in"))
    books.post(session, kind, moved(_opening(row), here, content), note=note)


def _other_owner(session: Session, row: LotRow, here: Account) -> None:
    """Metal that turns out to be another's leaves the one's books before it comes into the other's."""
    held = session.get(LedgerBalance, (here.kind, here.ref))
    if held is not None and held.mass.base and held.owner != (row.owner_job or ""):
        away = Account(AccountKind.CUSTOMER, held.owner) if held.owner else adjustment(Reason.OTHER_USE)
        there = books.balance(session, here)
        books.post(session, EntryKind.GIVEN_BACK, moved(here, away, there), note=say("whose metal it is was changed"))


def _opening(row: LotRow | PowderRow) -> Account:
    if isinstance(row, LotRow) and row.owner_job:
        return Account(AccountKind.CUSTOMER, row.owner_job)
    return adjustment(Reason.OPENING)


def reassayed(session: Session, row: LotRow, at: datetime | None = None) -> None:
    """A lot turned out to be made of something else: its elements are booked anew, its mass stays."""
    here = Account(AccountKind.LOT, row.id)
    there = books.balance(session, here)
    content = content_of(there.mass, row.composition) - there
    if content.elements:
        assay = adjustment(Reason.ASSAY)
        postings = (Posting(here, content), Posting(assay, -content))
        books.post(session, EntryKind.ASSAY, postings, note=say("composition as assayed"), at=at)


def reassay(session: Session, lot: str, at: datetime | None = None) -> None:
    """Book a lot's elements by the composition that the shelf gives it."""
    row = session.get(LotRow, lot)
    if row is None:
        raise InvalidValue("lot", say("there is no lot “{name}”", name=lot))
    reassayed(session, row, at)
