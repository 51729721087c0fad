"""The printed guides, and the keys of the desk."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


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
        Guide(row["key"], row["title"], row["about"], tuple(Part(p["title"], tuple(p["points"])) for p in row["part"]))
        for row in table["guide"]
    )


GO = (
    ("w", "Week", "/week"),
    ("t", "Today", "/today"),
    ("j", "Jobs", "/jobs"),
    ("n", "A new job", "/jobs/new"),
    ("m", "Metal", "/metal"),
    ("o", "Metal to order", "/metal/order"),
    ("b", "Bench", "/bench"),
    ("r", "Record", "/learning"),
    ("s", "Shop", "/shop"),
    ("i", "What if …?", "/what-if"),
    ("h", "Words of the trade", "/help"),
)
"""The letter after G, what it opens, and where that is."""
