"""A checklist on the tablet: its points one at a time, how it stands in a word, and what was ticked as it read."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import TypeAlias

from domain.safety.gates import UNKNOWN, Override, Standing, State
from domain.safety.own_points import kept_text
from domain.safety.points import Pause, Reading
from domain.saying import say
from webapp.formats import retold
from webapp.reading import unit_read
from webapp.store.ticks import Row
from webapp.views.floor import RecordLine
from webapp.views.prints import expected_words

Local: TypeAlias = Callable[[datetime], datetime]

READS = {Reading.TEMPERATURE: say("Temperature read"), Reading.MASS: say("Mass weighed"), Reading.PRESSURE: say("Pressure read")}


class Shown(StrEnum):
    """Where a point stands on the page. ``SIGN``: ticked, and another person must sign it."""

    DONE = "done"
    NOW = "now"
    SIGN = "sign"
    LATER = "later"
    PASSED = "passed"


@dataclass(frozen=True, slots=True, kw_only=True)
class PointLine:
    """``at`` and ``signed_at`` on the shop's clock. ``asks``: the label of its reading with the unit, empty where none is
    asked. ``void``: why an earlier tick does not count any more."""

    id: str
    number: int
    text: str
    why: str
    source: str
    required: bool
    second: bool
    asks: str
    expects: str
    shown: Shown
    read: str
    who: str = ""
    at: datetime | None = None
    reading: str = ""
    signed: str = ""
    signed_at: datetime | None = None
    void: str = ""


def current(standing: Standing, *, at: str = "", after: str = "") -> State | None:
    """The point in large type: ``at`` where it is open, else the first open one behind ``after``, else the first open one."""
    open_now = [s for s in standing.states if not s.done]
    chosen = next((s for s in open_now if s.point.id == at), None)
    behind = next((s.number for s in standing.states if s.point.id == after), 0)
    return chosen or next((s for s in open_now if s.number > behind and not s.passed), None) or standing.next


def point_lines(
    local: Local, standing: Standing, now: State | None, as_read: Callable[[State], str], *, closed: bool
) -> tuple[PointLine, ...]:
    """``now``: the point in large type. ``closed``: nothing is to be done any more."""
    return tuple(_line(local, state, _shown(state, now, closed), as_read(state)) for state in standing.states)


def _shown(state: State, now: State | None, closed: bool) -> Shown:
    if state.done:
        return Shown.DONE
    if now is not None and state.point.id == now.point.id and not closed:
        return Shown.SIGN if state.waits else Shown.NOW
    return Shown.PASSED if state.passed else Shown.LATER


def _line(local: Local, state: State, shown: Shown, read: str) -> PointLine:
    point, tick = state.point, state.tick
    return PointLine(
        id=point.id,
        number=state.number,
        text=point.text,
        why=point.why,
        source=str(point.source),
        required=point.required,
        second=point.second,
        asks=say("{what}, in {unit}", what=READS[point.reading], unit=unit_read(point)) if point.reading in READS else "",
        expects=expected_words(point),
        shown=shown,
        read=read,
        who=tick.who if tick else "",
        at=local(tick.at) if tick else None,
        reading=retold(tick.reading) if tick else "",
        signed=tick.second if tick else "",
        signed_at=local(tick.second_at) if tick and tick.second_at else None,
        void=state.void,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class PassLine:
    """What a manager let pass, as it read that day."""

    at: datetime
    who: str
    reason: str
    points: tuple[str, ...]


def pass_lines(local: Local, overrides: Iterable[Override], pause: Pause) -> tuple[PassLine, ...]:
    return tuple(
        PassLine(at=local(one.at), who=one.who, reason=one.reason, points=tuple(_kept_texts(one)))
        for one in overrides
        if one.pause is pause
    )


def _kept_texts(one: Override) -> Iterable[str]:
    for point, text in one.points.items():
        yield say("the points are not known") if point == UNKNOWN else kept_text(point, text)


def kept_lines(local: Local, rows: Iterable[Row], overrides: Iterable[Override]) -> tuple[RecordLine, ...]:
    """All that was ticked, signed, taken back and let pass, as it read that day, in the order of time."""
    lines = [*_tick_lines(local, tuple(rows)), *(_passed(local, one) for one in overrides)]
    return tuple(sorted(lines, key=lambda line: line.at))


def _tick_lines(local: Local, rows: tuple[Row, ...]) -> Iterable[RecordLine]:
    for place, row in enumerate(rows):
        if not row.ticked:
            continue
        same = (r for r in rows[place + 1 :] if (r.flask, r.pause, r.point) == (row.flask, row.pause, row.point))
        back = next((r for r in same if not r.ticked), None)
        pause = row.pause.words
        yield RecordLine(
            at=local(row.at),
            what=say("signed besides {pause}", pause=pause) if row.second else say("ticked {pause}", pause=pause),
            who=row.who,
            told=(say("“{text}”", text=kept_text(row.point, row.text)), *([retold(row.reading)] if row.reading else [])),
            undone=local(back.at) if back else None,
            struck=back.who if back else "",
        )


def _passed(local: Local, one: Override) -> RecordLine:
    return RecordLine(
        at=local(one.at),
        what=say("let pass {pause}", pause=one.pause.words),
        who=one.who,
        told=(say("because: {reason}", reason=one.reason), *(say("open: “{text}”", text=text) for text in _kept_texts(one))),
    )
