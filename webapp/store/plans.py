"""Plan versions: one current, drafts beside it, old ones kept as they were."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from sqlmodel import col, select

from domain.planning.clock import Clock, Minute
from domain.planning.plan import Plan
from webapp.store import reservations
from webapp.store.engine import Session
from webapp.store.memory import recalled, remember
from webapp.store.tables import PlanVersion
from webapp.store.tables.record import PlanStatus

__all__ = [
    "PlanStatus",
    "StoredPlan",
    "current_plan",
    "first_made",
    "moved",
    "plan_version",
    "plan_versions",
    "store_plan",
]


@dataclass(frozen=True, slots=True)
class StoredPlan:
    """``clock``: what the plan's minutes count on. ``made_at`` in UTC."""

    version: int
    status: PlanStatus
    made_at: datetime
    made_by: str
    note: str
    clock: Clock
    plan: Plan


CURRENT = "current plan"
"""what the memory calls it"""


def current_plan(session: Session) -> StoredPlan | None:
    """Read once and remembered while the data stay."""
    known: StoredPlan | None = recalled(session, CURRENT)
    if known is not None:
        return known
    query = select(PlanVersion).where(PlanVersion.status == PlanStatus.CURRENT).order_by(col(PlanVersion.id).desc())
    row = session.exec(query).first()
    stored = None if row is None else _stored(row)
    remember(session, CURRENT, stored)
    return stored


def first_made(session: Session) -> datetime | None:
    """When the shop's very first plan was made (UTC), whatever became of it."""
    return session.exec(select(PlanVersion.made_at).order_by(col(PlanVersion.id)).limit(1)).first()


def plan_version(session: Session, version: int) -> StoredPlan | None:
    row = session.get(PlanVersion, version)
    return None if row is None else _stored(row)


def plan_versions(session: Session, newest: int = 20) -> tuple[StoredPlan, ...]:
    """The newest versions first."""
    rows = session.exec(select(PlanVersion).order_by(col(PlanVersion.id).desc()).limit(newest)).all()
    return tuple(_stored(row) for row in rows)


def store_plan(session: Session, plan: Plan, clock: Clock, status: PlanStatus, note: str = "") -> int:
    """Keep a plan as a new version. A current one makes the current one before it old."""
    if status is PlanStatus.CURRENT:
        retire_current(session)
    row = PlanVersion(
        status=status,
        made_by=plan.made_by,
        first_day=clock.first_day.isoformat(),
        timezone=clock.timezone,
        document=plan,
        note=note,
    )
    session.add(row)
    session.flush()
    if status is PlanStatus.CURRENT:
        reservations.renew(session, plan)
    assert row.id is not None  # the flush has numbered it
    return row.id


def retire_current(session: Session) -> None:
    """Leave no plan current."""
    for row in session.exec(select(PlanVersion).where(PlanVersion.status == PlanStatus.CURRENT)).all():
        row.status = PlanStatus.OLD
    reservations.renew(session, None)


def moved(plan: Plan, old: Clock, new: Clock) -> Plan:
    """The same plan in the minutes of another clock. Real moments do not move."""
    shift = new.minute(old.local(0))
    if shift == 0:
        return plan
    flasks = tuple(_shifted(f, shift, _FLASK_TIMES) for f in plan.flasks)
    loads = tuple(_shifted(load, shift, _LOAD_TIMES) for load in plan.loads)
    return replace(plan, flasks=flasks, loads=loads)


_FLASK_TIMES = ("invest_start", "invest_end", "cast_start", "cast_end", "knockout_start", "knockout_end")
_LOAD_TIMES = ("load_at", "start", "program_end")


def _shifted(thing: Any, shift: Minute, names: tuple[str, ...]) -> Any:
    return replace(thing, **{name: getattr(thing, name) + shift for name in names})


def _stored(row: PlanVersion) -> StoredPlan:
    clock = Clock(date.fromisoformat(row.first_day), row.timezone)
    assert row.id is not None  # it came from the database
    return StoredPlan(row.id, row.status, row.made_at, row.made_by, row.note, clock, row.document)
