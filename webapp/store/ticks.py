"""The ticked points of checklists, and what a manager let pass. Rows are only ever added."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from sqlmodel import col, select

from domain.safety.gates import Override, Ticked
from domain.safety.points import Pause
from webapp.steady import happened
from webapp.store.engine import Session
from webapp.store.tables import ChecklistOverride, ChecklistTick


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row as it was written: a tick, the second person's name under it, or the tick taken back."""

    flask: str
    pause: Pause
    point: str
    text: str
    reading: str
    who: str
    at: datetime
    ticked: bool
    second: bool


def seen(session: Session, key: str) -> bool:
    """Whether something was ticked, signed or taken back with this key."""
    return bool(key) and session.exec(select(ChecklistTick.id).where(ChecklistTick.key == key)).first() is not None


def tick(
    session: Session,
    flask: str,
    pause: Pause,
    point: str,
    text: str,
    *,
    made_of: Mapping[str, str],
    reading: str = "",
    who: str = "",
    account: int | None = None,
    second: bool = False,
    ticked: bool = True,
    key: str | None = None,
) -> None:
    """Tick a point; sign the tick that stands (``second``); or take it back (``ticked`` false)."""
    session.add(
        ChecklistTick(
            flask=flask,
            pause=pause,
            point=point,
            text=text,
            reading=reading,
            made_of=made_of,
            who=who,
            account=account,
            second=second,
            ticked=ticked,
            at=happened(),
            key=key or None,
        )
    )
    session.flush()


def ticks(session: Session, flasks: Iterable[str]) -> dict[str, dict[Pause, dict[str, Ticked]]]:
    """The ticks that stand, by flask, pause and point; those too that do not count any more for what the
    flask is now."""
    query = select(ChecklistTick).where(col(ChecklistTick.flask).in_(list(flasks))).order_by(col(ChecklistTick.id))
    standing: dict[str, dict[Pause, dict[str, Ticked]]] = {}
    for row in session.exec(query).all():
        points = standing.setdefault(row.flask, {}).setdefault(Pause(row.pause), {})
        before = points.pop(row.point, None)
        if row.ticked and not row.second:
            points[row.point] = _ticked(row)
        elif row.ticked and before is not None:
            points[row.point] = replace(before, second=row.who, second_at=row.at)
    return standing


def _ticked(row: ChecklistTick) -> Ticked:
    return Ticked(
        point=row.point, text=row.text, reading=row.reading, who=row.who, account=row.account, at=row.at, made_of=row.made_of
    )


def override(
    session: Session,
    flask: str,
    pause: Pause,
    reason: str,
    points: Mapping[str, str],
    *,
    made_of: Mapping[str, str],
    who: str,
    key: str | None = None,
) -> None:
    session.add(
        ChecklistOverride(
            flask=flask, pause=pause, reason=reason, points=points, made_of=made_of, who=who, at=happened(), key=key or None
        )
    )
    session.flush()


def rows(session: Session, flasks: Iterable[str]) -> tuple[Row, ...]:
    """All that was ever written of these flasks, in its order."""
    query = select(ChecklistTick).where(col(ChecklistTick.flask).in_(list(flasks))).order_by(col(ChecklistTick.id))
    return tuple(
        Row(
            flask=row.flask,
            pause=Pause(row.pause),
            point=row.point,
            text=row.text,
            reading=row.reading,
            who=row.who,
            at=row.at,
            ticked=row.ticked,
            second=row.second,
        )
        for row in session.exec(query).all()
    )


def overrides(session: Session, flasks: Iterable[str]) -> dict[str, tuple[Override, ...]]:
    """What was let pass of these flasks, oldest first."""
    query = select(ChecklistOverride).where(col(ChecklistOverride.flask).in_(list(flasks))).order_by(col(ChecklistOverride.id))
    found: dict[str, tuple[Override, ...]] = {}
    for row in session.exec(query).all():
        one = Override(pause=Pause(row.pause), reason=row.reason, who=row.who, at=row.at, points=row.points, made_of=row.made_of)
        found[row.flask] = (*found.get(row.flask, ()), one)
    return found
