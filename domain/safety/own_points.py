"""What a shop changes in the starting checklist: other words, other readings, points left out, points of its own."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

from domain.safety.context import with_values
from domain.safety.points import Pause, Reading, Row, rows, source_of
from domain.saying import say
from domain.shop.investment import LIQUIDS
from domain.sources import Mark

OWN = "own-"
"""The ids of points that the shop added begin so."""
STEP = 10
"""Between the positions of neighbours in the starting list."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PointChange:
    """One point as the shop wants it. For a point of the starting list, none means: as it starts.

    A point of the shop's own has its text, required and reading here, and ``conditions``: the columns
    that say which flasks it is for; without any it is for every flask. ``position`` orders the points
    of a pause. ``second``: another person signs the point besides. ``reason``: why a point with a caution may be
    left out or is optional.
    """

    id: str
    pause: Pause
    position: int
    text: str | None = None
    why: str | None = None
    required: bool | None = None
    reading: Reading | None = None
    second: bool | None = None
    dropped: bool = False
    reason: str = ""
    conditions: Mapping[str, str | bool] = field(default_factory=dict)

    @property
    def own(self) -> bool:
        return self.id.startswith(OWN)

    @property
    def edited(self) -> bool:
        """Whether more than its place is the shop's."""
        return self.own or self != PointChange(id=self.id, pause=self.pause, position=self.position)


def start_row(point: str) -> Row | None:
    """The point in the starting list; none for the shop's own and for unknown ones."""
    return next((row for row in rows("checklist.toml") if row["id"] == point), None)


def kept_text(point: str, text: str) -> str:
    """The text of a point as it was kept, in English: heard in the reader's language where it is the starting one."""
    start = start_row(point)
    if start is None:
        return text
    blanks = re.sub(r"\\\{(\w+)\\\}", r"(?P<\1>.+)", re.escape(start["text"]))
    found = re.fullmatch(blanks, text)
    return text if found is None else with_values(start["text"], {n: LIQUIDS.get(v, v) for n, v in found.groupdict().items()})


def listed_rows(pause: Pause, changes: Iterable[PointChange] = ()) -> tuple[Row, ...]:
    """The rows of a pause in the shop's order, with ``position`` and ``dropped``; those left out too."""
    changed = {change.id: change for change in changes if change.pause is pause}
    start = [row for row in rows("checklist.toml") if row["pause"] == pause]
    listed = [_changed(row, changed.get(row["id"]), place * STEP) for place, row in enumerate(start)]
    listed += [_own_row(change) for change in changed.values() if change.own]
    return tuple(sorted(listed, key=lambda row: int(row["position"])))


def standing_rows(pause: Pause, changes: Iterable[PointChange] = ()) -> tuple[Row, ...]:
    """The rows of a pause that some flask is asked, in the shop's order."""
    return tuple(row for row in listed_rows(pause, changes) if not row["dropped"])


def change_of(point: str, changes: Iterable[PointChange] = ()) -> PointChange | None:
    """How the point stands: its change, an empty one where it is as it starts, none for an unknown id."""
    known = {change.id: change for change in changes}
    if point in known:
        return known[point]
    start = start_row(point)
    if start is None:
        return None
    pause = Pause(start["pause"])
    position = next(row["position"] for row in listed_rows(pause) if row["id"] == point)
    return PointChange(id=point, pause=pause, position=position)


def last_position(pause: Pause, changes: Iterable[PointChange] = ()) -> int:
    """The position after all points of a pause."""
    return max((int(row["position"]) for row in listed_rows(pause, changes)), default=-STEP) + STEP


def moved(point: str, step: int, changes: Iterable[PointChange]) -> tuple[PointChange, ...]:
    """The changes that put a point before its neighbour (``step`` −1) or after it (+1); none at an end."""
    kept = tuple(changes)
    this = change_of(point, kept)
    if this is None:
        return ()
    shown = [row["id"] for row in standing_rows(this.pause, kept)]
    if point not in shown or not 0 <= shown.index(point) + step < len(shown):
        return ()
    neighbour = shown[shown.index(point) + step]
    order = [row["id"] for row in listed_rows(this.pause, kept) if row["id"] != point]
    order.insert(order.index(neighbour) + (1 if step > 0 else 0), point)
    standing = [change for change in (change_of(name, kept) for name in order) if change is not None]
    placed = [replace(change, position=place * STEP) for place, change in enumerate(standing)]
    return tuple(new for new, old in zip(placed, standing, strict=True) if new != old)


def restored(change: PointChange) -> PointChange:
    """A starting point with its starting words, reading and tick, in its list; only its place stays. A
    point of the shop's own has nothing to go back to."""
    return change if change.own else PointChange(id=change.id, pause=change.pause, position=change.position)


def _changed(row: Row, change: PointChange | None, place: int) -> Row:
    if change is None:
        return {**row, "position": place, "dropped": False}
    wanted = {
        "text": change.text,
        "why": change.why,
        "required": change.required,
        "reading": change.reading,
        "second": change.second,
    }
    new = {**row, **{name: value for name, value in wanted.items() if value is not None}}
    if change.text is not None or change.why is not None:
        new["source"] = (Mark.SHOP, say("the starting text had: {source}", source=str(source_of(row))))
    if change.reading is not None:
        # what the flask expects is of the starting kind of reading
        new.pop("expected", None)
    return {**new, "position": change.position, "dropped": change.dropped}


def _own_row(change: PointChange) -> Row:
    return {
        "id": change.id,
        "pause": change.pause,
        "text": change.text or "",
        "why": change.why or "",
        "source": (Mark.SHOP,),
        "required": change.required is not False,
        "reading": change.reading or Reading.NONE,
        "second": change.second is True,
        "position": change.position,
        "dropped": change.dropped,
        **change.conditions,
    }
