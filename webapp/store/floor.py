"""The floor's record: written down once, undone by counter-entries, never changed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlmodel import col, select

from domain.floor.stages import ON_THE_WAY, Stage
from domain.floor.times import CastAs
from webapp.store import plans
from webapp.store.columns import utc_now
from webapp.store.engine import Session
from webapp.store.tables import FloorRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class Happened:
    """``at`` in UTC; ``plan_version`` the plan that was current then. ``pieces``: by job, what came out of a flask
    that was knocked out, or was looked at. ``takes_back``: the one that this undoes."""

    id: int
    flask: str
    stage: Stage
    at: datetime
    who: str
    note: str
    plan_version: int | None
    pieces: Mapping[str, int]
    readings: Mapping[str, str]
    cast_as: CastAs | None
    takes_back: int | None


def record(
    session: Session,
    flask: str,
    stage: Stage,
    *,
    plan_version: int | None = None,
    at: datetime | None = None,
    who: str = "",
    note: str = "",
    key: str | None = None,
    readings: Mapping[str, str] | None = None,
    pieces: Mapping[str, int] | None = None,
    cast_as: CastAs | None = None,
) -> bool:
    """Write down what happened. False when ``key`` was seen before: a repeated request counts once."""
    if seen(session, key):
        return False
    row = FloorRecord(flask=flask, stage=stage, plan_version=plan_version, at=at or utc_now(), who=who, note=note, key=key or None)
    row.readings, row.cast_as = dict(readings or {}), cast_as
    row.pieces = _contents(session, flask, plan_version) if stage is Stage.KNOCKED_OUT and pieces is None else pieces
    session.add(row)
    session.flush()
    return True


def seen(session: Session, key: str | None) -> bool:
    """Whether something was written down under this key."""
    return with_key(session, key) is not None


def with_key(session: Session, key: str | None) -> int | None:
    """The row that was written down under this key."""
    return session.exec(select(FloorRecord.id).where(FloorRecord.key == key)).first() if key else None


def take_back(session: Session, one: Happened, *, who: str = "", note: str = "", key: str | None = None) -> bool:
    """Writes the counter-entry of what stands. False when ``key`` was seen before."""
    if seen(session, key):
        return False
    session.add(FloorRecord(flask=one.flask, stage=one.stage, who=who, note=note, key=key or None, takes_back=one.id))
    session.flush()
    return True


def _contents(session: Session, flask: str, plan_version: int | None) -> Mapping[str, int]:
    """What the plan has in a flask: the given version, else the current one."""
    stored = plans.current_plan(session) if plan_version is None else plans.plan_version(session, plan_version)
    planned = stored.plan.flask(flask) if stored else None
    return planned.contents if planned else {}


def happened(session: Session) -> dict[str, tuple[Happened, ...]]:
    """What stands for each flask of the stages that the plan counts, oldest first."""
    found: dict[str, list[Happened]] = defaultdict(list)
    for one in standing(everything(session)):
        if one.stage in ON_THE_WAY:
            found[one.flask].append(one)
    return {flask: tuple(events) for flask, events in found.items()}


def happened_to(session: Session, flask: str) -> tuple[Happened, ...]:
    """All that stands for one flask, of every stage, oldest first."""
    return standing(everything(session, flask))


def everything(session: Session, flask: str | None = None) -> tuple[Happened, ...]:
    """All rows, of one flask where it is named, with what was undone and the counter-entries, oldest first."""
    query = select(FloorRecord).order_by(col(FloorRecord.id))
    return tuple(_told(session.exec(query if flask is None else query.where(FloorRecord.flask == flask)).all()))


def standing(rows: Iterable[Happened]) -> tuple[Happened, ...]:
    """Without what was undone, and without what undid it."""
    rows = tuple(rows)
    gone = {row.takes_back for row in rows}
    return tuple(row for row in rows if row.takes_back is None and row.id not in gone)


def casts(session: Session, newest: int = 500) -> tuple[Happened, ...]:
    """The newest casts that stand, the latest first."""
    query = select(FloorRecord).where(FloorRecord.stage == Stage.CAST).order_by(col(FloorRecord.id).desc()).limit(newest)
    return tuple(sorted(standing(_told(session.exec(query).all())), key=lambda one: one.at, reverse=True))


def looked_at(session: Session, flasks: Iterable[str]) -> tuple[Happened, ...]:
    """What stands of the pieces of these flasks, oldest first."""
    query = select(FloorRecord).where(col(FloorRecord.flask).in_(list(flasks)), FloorRecord.stage == Stage.LOOKED_AT)
    return standing(_told(session.exec(query.order_by(col(FloorRecord.id))).all()))


def stages_of(session: Session, flask: str) -> tuple[Stage, ...]:
    """The stages of one flask that stand, in the order in which they were recorded."""
    return tuple(one.stage for one in happened_to(session, flask))


def stages(session: Session, flasks: Iterable[str]) -> dict[str, Stage]:
    """The last stage that stands and that the plan counts, for the flasks that have one."""
    wanted = set(flasks)
    return {flask: events[-1].stage for flask, events in happened(session).items() if flask in wanted}


def _told(rows: Sequence[FloorRecord]) -> Iterator[Happened]:
    for row in rows:
        yield Happened(
            id=row.id or 0,
            flask=row.flask,
            stage=row.stage,
            at=row.at,
            who=row.who,
            note=row.note,
            plan_version=row.plan_version,
            pieces=row.pieces or {},
            readings=row.readings,
            cast_as=row.cast_as,
            takes_back=row.takes_back,
        )
