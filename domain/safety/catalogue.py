"""All checklist points without a flask, so that the shop can read what may be asked and when."""

from __future__ import annotations

from dataclasses import dataclass

from domain.safety.checklist import Pause, _rows, _source
from domain.safety.context import CONDITIONS
from domain.sources import Source

BLANKS = {
    "alloy": "the alloy",
    "size": "the flask size",
    "liquid": "the liquid",
    "bond": "the investment's bond",
    "wait": "the alloy's number of",
    "people": "",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Listed:
    """``when``: what calls for the point, in words; empty where every flask does."""

    pause: Pause
    text: str
    why: str
    source: Source
    required: bool
    when: str


def catalogue() -> tuple[Listed, ...]:
    """Every point, in the order of the pauses and of the work in them."""
    rows = sorted(_rows("checklist.toml"), key=lambda row: list(Pause).index(Pause(row["pause"])))
    return tuple(
        Listed(
            pause=Pause(row["pause"]),
            text=" ".join(row["text"].format(**BLANKS).split()),
            why=row["why"],
            source=_source(row),
            required=row.get("required", True),
            when=", ".join(_words(name, row[name]) for name in CONDITIONS if name in row),
        )
        for row in rows
    )


WORDS = {
    ("fume", True): "resin patterns",
    ("fume", False): "no resin patterns",
    ("large", True): "large flasks",
    ("large", False): "small flasks",
    ("alone", True): "casting alone",
    ("alone", False): "two or more people",
    ("window", True): "alloys with a quench window",
    ("window", False): "alloys without a quench window",
    ("advised_against", True): "investment advised against",
}


def _words(name: str, value: object) -> str:
    if (name, value) in WORDS:
        return WORDS[name, value]
    return f"not for {value}" if name == "without" else str(value)
