"""All checklist points without a flask, so that the shop can read what may be asked and when."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from domain.safety.checklist import Caution
from domain.safety.condition_words import in_words
from domain.safety.context import CONDITIONS, with_values
from domain.safety.own_points import PointChange, listed_rows, start_row
from domain.safety.points import Pause, Reading, Row, rows, source_of
from domain.saying import listed, say
from domain.sources import Source

BLANKS = {
    "alloy": say("the alloy"),
    "size": say("the flask size"),
    "liquid": say("the liquid"),
    "bond": say("the investment's bond"),
    "wait": say("the alloy's number of"),
    "people": "",
}
_BARE = say("Agree aloud who does what and who says stop; all wear the same protection.")
"""The starting text with a blank of which nothing stands when no flask is known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """``when``: what calls for the point, in words; empty where every flask does. ``change``: what the
    shop has made of it, if anything; ``starting_text``: where that is not its text any more."""

    id: str
    pause: Pause
    text: str
    why: str
    source: Source
    required: bool
    reading: Reading
    second: bool
    when: str
    dropped: bool
    change: PointChange | None
    starting_text: str


def catalogue(changes: Iterable[PointChange] = ()) -> tuple[Listed, ...]:
    """Every point, in the order of the pauses and of the work in them; those left out too."""
    kept = tuple(changes)
    by_id = {change.id: change for change in kept}
    return tuple(_listed(row, by_id.get(row["id"])) for pause in Pause for row in listed_rows(pause, kept))


def _listed(row: Row, change: PointChange | None) -> Listed:
    start = start_row(row["id"])
    return Listed(
        id=row["id"],
        pause=Pause(row["pause"]),
        text=blanks_named(row["text"]),
        why=row["why"],
        source=source_of(row),
        required=row.get("required", True),
        reading=Reading(row.get("reading", "none")),
        second=row.get("second", False),
        when=listed([in_words(name, row[name]) for name in CONDITIONS if name in row]),
        dropped=row["dropped"],
        change=change if change is not None and change.edited else None,
        starting_text=blanks_named(start["text"]) if start is not None and start["text"] != row["text"] else "",
    )


def caution(id: str) -> Caution:
    """One warning by itself, where no flask is known."""
    row = next(row for row in rows("cautions.toml") if row["id"] == id)
    return Caution(id=id, text=blanks_named(row["text"]), source=source_of(row))


def blanks_named(text: str) -> str:
    """The text with words in place of what a flask fills in."""
    named = with_values(text, BLANKS)
    tidy = " ".join(named.split())
    if named == tidy:
        return named
    return _BARE if tidy == _BARE else tidy
