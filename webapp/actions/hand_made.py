"""Moves by hand that a new plan could undo: nobody plans over them without being asked."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import takewhile

from domain.errors import DomainError
from domain.saying import say
from domain.week.side_by_side import differing
from webapp.store import flasks, plans
from webapp.store.engine import Database, Session
from webapp.store.plans import PlanStatus, StoredPlan

HAND = "hand"
"""who made a plan that came of moving pieces"""

KEEP, LOSE = "keep", "lose"
"""answers to the question: pin what was moved, or plan over it"""

LOOK_BACK = 200
"""versions at most"""


@dataclass(frozen=True, slots=True, kw_only=True)
class HandMade:
    """``moves``: in words, the oldest first. ``since``: the version before them, none where a hand made
    the first. ``flasks``: what they changed, as far as it still moves."""

    moves: tuple[str, ...]
    since: int | None
    flasks: tuple[str, ...]


def question(db: Database, wish: str) -> HandMade | None:
    """What to ask before the week is planned; none where nothing was moved by hand, or the manager has decided.
    Raises ``DomainError`` for another wish."""
    if wish not in ("", KEEP, LOSE):
        raise DomainError(say("Say whether the moves by hand are kept."))
    if wish:
        return None
    with db.read() as session:
        return hand_made(session)


@contextmanager
def kept(db: Database, wish: str) -> Iterator[None]:
    """With ``KEEP`` every flask that was changed by hand is pinned for what is done inside; should that fail, the pins
    are taken back."""
    pinned = pin_all(db) if wish == KEEP else ()
    try:
        yield
    except DomainError:
        with db.write() as session:
            for flask in pinned:
                flasks.unpin(session, flask)
        raise


def hand_made(session: Session) -> HandMade | None:
    """Moves by hand since the last plan that was made otherwise, where they changed what still moves."""
    versions = [v for v in plans.plan_versions(session, LOOK_BACK) if v.status is not PlanStatus.DRAFT]
    moved = list(takewhile(lambda v: v.made_by == HAND, versions))
    if not moved or moved[0].status is not PlanStatus.CURRENT:
        return None
    earlier = versions[len(moved)] if len(moved) < len(versions) else None
    changed = _changed(session, earlier, moved[0])
    if not changed:
        return None
    words = tuple(v.note or say("plan {version}", version=v.version) for v in reversed(moved))
    return HandMade(moves=words, since=earlier.version if earlier else None, flasks=changed)


def _changed(session: Session, earlier: StoredPlan | None, now: StoredPlan) -> tuple[str, ...]:
    fixed = flasks.pins(session).keys() | flasks.happened(session).keys()
    there = {f.id for f in now.plan.flasks}
    if earlier is None:
        return tuple(f.id for f in now.plan.flasks if f.id not in fixed)
    changed = differing(plans.moved(earlier.plan, earlier.clock, now.clock), now.plan)
    return tuple(f for f in changed if f in there and f not in fixed)


def pin_all(db: Database) -> tuple[str, ...]:
    """Pins every flask that was changed by hand and still moves; says which."""
    with db.write() as session:
        found = hand_made(session)
        for flask in found.flasks if found else ():
            flasks.pin(session, flask, "moved by hand")
        return found.flasks if found else ()
