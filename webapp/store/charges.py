"""Trees as they were weighed, and the charges of flasks as they were planned before."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlmodel import col, select

from domain.planning.plan import ChargePart
from domain.units import Mass, Share
from webapp.acting import actor
from webapp.store.engine import Session
from webapp.store.tables import ChargeBefore, TreeWeighing


@dataclass(frozen=True, slots=True, kw_only=True)
class Weighed:
    """``at`` in UTC."""

    gross: Mass
    base: Mass
    at: datetime
    who: str = ""

    @property
    def tree(self) -> Mass:
        return self.gross - self.base


@dataclass(frozen=True, slots=True, kw_only=True)
class Before:
    """A charge until ``at`` (UTC), and why another took its place."""

    at: datetime
    reason: str
    asked: Mass
    parts: tuple[ChargePart, ...]
    fineness: Share | None


def weigh_tree(session: Session, flask: str, gross: Mass, base: Mass, key: str) -> bool:
    """False when ``key`` was seen before."""
    if key and session.exec(select(TreeWeighing.id).where(TreeWeighing.key == key)).first():
        return False
    session.add(TreeWeighing(flask=flask, gross=gross, base=base, who=actor(), key=key or None))
    session.flush()
    return True


def tree_of(session: Session, flask: str) -> Weighed | None:
    """The last weighing of a flask's tree."""
    query = select(TreeWeighing).where(TreeWeighing.flask == flask).order_by(col(TreeWeighing.id).desc())
    row = session.exec(query).first()
    return None if row is None else Weighed(gross=row.gross, base=row.base, at=row.at, who=row.who)


def trees_of(session: Session, flask: str) -> tuple[Weighed, ...]:
    """All weighings of a flask's tree, the oldest first."""
    rows = session.exec(select(TreeWeighing).where(TreeWeighing.flask == flask).order_by(col(TreeWeighing.id))).all()
    return tuple(Weighed(gross=row.gross, base=row.base, at=row.at, who=row.who) for row in rows)


def keep_before(
    session: Session, flask: str, reason: str, asked: Mass, parts: tuple[ChargePart, ...], fineness: Share | None
) -> None:
    session.add(ChargeBefore(flask=flask, reason=reason, asked=asked, parts=parts, fineness=fineness))
    session.flush()


def charges_before(session: Session, flask: str) -> tuple[Before, ...]:
    """The newest first."""
    query = select(ChargeBefore).where(ChargeBefore.flask == flask).order_by(col(ChargeBefore.id).desc())
    rows = session.exec(query).all()
    return tuple(Before(at=r.at, reason=r.reason, asked=r.asked, parts=tuple(r.parts), fineness=r.fineness) for r in rows)
