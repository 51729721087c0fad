"""What planned charges will take from the shelf: reserved when a plan becomes the current one, issued
when the charge is weighed, released when another plan takes its place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy import delete, func
from sqlmodel import col, select

from domain.books.entries import EntryKind
from domain.planning.plan import From, Plan
from domain.units import Mass
from webapp.store.books import not_taken_back
from webapp.store.engine import Session
from webapp.store.tables import LedgerEntry, LedgerReservation, LotRow


@dataclass(frozen=True, slots=True)
class Reservation:
    flask: str
    lot: str
    mass: Mass


def renew(session: Session, plan: Plan | None) -> None:
    """Reserve what ``plan`` takes from lots for flasks whose charge is not weighed yet, and nothing else."""
    session.connection().execute(delete(LedgerReservation))
    charges = plan.charges if plan else ()
    done = weighed(session, [charge.flask for charge in charges])
    for charge in charges:
        if charge.flask not in done:
            parts = [(part.ref, part.mass) for part in charge.parts if part.origin is From.LOT]
            _reserve(session, charge.flask, parts)
    session.flush()


def reserve(session: Session, flask: str, parts: Mapping[str, Mass]) -> None:
    """Reserve these masses of lots for a flask, in place of what was reserved for it before."""
    release(session, flask)
    _reserve(session, flask, list(parts.items()))
    session.flush()


def release(session: Session, flask: str) -> None:
    session.connection().execute(delete(LedgerReservation).where(col(LedgerReservation.flask) == flask))


def _reserve(session: Session, flask: str, parts: list[tuple[str, Mass]]) -> None:
    sums: dict[str, Mass] = {}
    for lot, mass in parts:
        sums[lot] = sums.get(lot, Mass(0)) + mass
    known = set(session.exec(select(LotRow.id).where(col(LotRow.id).in_(list(sums)))).all())
    session.add_all(
        LedgerReservation(flask=flask, lot=lot, mass=mass) for lot, mass in sums.items() if lot in known and mass.base > 0
    )


def reserved(session: Session) -> dict[str, Mass]:
    """By lot, what is reserved of it in all."""
    query = select(LedgerReservation.lot, func.sum(LedgerReservation.mass)).group_by(LedgerReservation.lot)
    return {lot: mass if isinstance(mass, Mass) else Mass(int(mass)) for lot, mass in session.exec(query).all()}


def reservations(session: Session, lot: str | None = None) -> tuple[Reservation, ...]:
    """For which flasks how much is reserved, of one lot or of all."""
    query = select(LedgerReservation).order_by(col(LedgerReservation.lot), col(LedgerReservation.flask))
    if lot is not None:
        query = query.where(LedgerReservation.lot == lot)
    return tuple(Reservation(row.flask, row.lot, row.mass) for row in session.exec(query).all())


def weighed(session: Session, flasks: list[str]) -> set[str]:
    """Those of the flasks whose charge is weighed, and that was not taken back."""
    # the kind is looked at here: a database that looks for it first goes through the charges of all years
    query = select(LedgerEntry.flask, LedgerEntry.kind).where(col(LedgerEntry.flask).in_(flasks), not_taken_back())
    return {flask for flask, kind in session.exec(query).all() if flask and kind is EntryKind.CHARGE}
