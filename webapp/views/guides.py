"""The printed guides, and the keys of the desk."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from domain.saying import say


@dataclass(frozen=True, slots=True)
class Part:
    title: str
    points: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Guide:
    """``key``: its place in the address. ``about``: when it is of use."""

    key: str
    title: str
    about: str
    parts: tuple[Part, ...]


@cache
def guides() -> tuple[Guide, ...]:
    table = tomllib.loads(files("webapp").joinpath("guides.toml").read_text(encoding="utf-8"))
    return tuple(
        Guide(row["key"], say(row["title"]), say(row["about"]), tuple(_part(p) for p in row["part"])) for row in table["guide"]
    )


def _part(row: dict[str, Any]) -> Part:
    return Part(say(row["title"]), tuple(say(point) for point in row["points"]))


GO = (
    ("w", say("Week"), "/week"),
    ("t", say("Today"), "/today"),
    ("j", say("Jobs"), "/jobs"),
    ("n", say("A new job"), "/jobs/new"),
    ("m", say("Metal"), "/metal"),
    ("o", say("Metal to order"), "/metal/order"),
    ("b", say("Bench"), "/bench"),
    ("r", say("Record"), "/learning"),
    ("s", say("Shop"), "/shop"),
    ("i", say("What if …?"), "/what-if"),
    ("h", say("Words of the trade"), "/help"),
)
"""The letter after G, what it opens, and where that is."""
