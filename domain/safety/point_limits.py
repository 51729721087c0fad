"""How many points a pause asks, over all flasks that there can be."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from itertools import product
from typing import TypeAlias

from domain.safety.condition_words import VALUES, in_words
from domain.safety.context import CONDITIONS
from domain.safety.own_points import PointChange, standing_rows
from domain.safety.points import MOST_POINTS, Pause, Row
from domain.saying import listed, say
from domain.shop.alloy import CoolingMethod

Kind: TypeAlias = Mapping[tuple[str, str], str | bool]
"""A kind of flask: by condition (for a caution: and its name), what is so. Only what the points ask."""


def fullest(pause: Pause, changes: Iterable[PointChange] = ()) -> int:
    """The most points that any flask is asked at a pause."""
    return max(count for _, count in _counted(standing_rows(pause, changes)))


def overfull(pause: Pause, changes: Iterable[PointChange] = ()) -> dict[str, int]:
    """The kinds of flask, in words, that are asked more than ``MOST_POINTS``, each with how many."""
    counted = _counted(standing_rows(pause, changes))
    left = [(kind, count) for kind, count in counted if count > MOST_POINTS]
    found: dict[str, int] = {}
    while left:
        common = _widened(left[0][0], counted)
        found[_words(common)] = max(count for kind, count in left if _is_of(kind, common))
        left = [(kind, count) for kind, count in left if not _is_of(kind, common)]
    return found


def _counted(rows: tuple[Row, ...]) -> list[tuple[Kind, int]]:
    return [(kind, sum(_asked(row, kind) for row in rows)) for kind in _kinds(rows)]


def _kinds(rows: tuple[Row, ...]) -> list[Kind]:
    asked = {key for row in rows for name in CONDITIONS if name in row for key in [_key(row, name)]}
    names = sorted(asked)
    every = product(*(VALUES.get(name, (True, False)) for name, _ in names))
    return [kind for kind in (dict(zip(names, values, strict=True)) for values in every) if _can_be(kind)]


def _key(row: Row, name: str) -> tuple[str, str]:
    return ("caution", row[name]) if name in ("caution", "without") else (name, "")


def _can_be(kind: Kind) -> bool:
    """Only an alloy that is quenched has a quench window."""
    return kind.get(("window", "")) is not True or kind.get(("cooling", ""), CoolingMethod.QUENCH) == CoolingMethod.QUENCH


def _asked(row: Row, kind: Kind) -> bool:
    return all(_holds(row, name, kind) for name in CONDITIONS if name in row)


def _holds(row: Row, name: str, kind: Kind) -> bool:
    value = kind[_key(row, name)]
    if name in ("caution", "without"):
        return value is (name == "caution")
    return bool(row[name] == value)


def _widened(kind: Kind, counted: list[tuple[Kind, int]]) -> Kind:
    """The kind without what makes no difference: all flasks of what is left are overfull."""
    common = dict(kind)
    for key in kind:
        wider = {other: value for other, value in common.items() if other != key}
        if all(count > MOST_POINTS for other, count in counted if _is_of(other, wider)):
            common = wider
    return common


def _is_of(kind: Kind, common: Kind) -> bool:
    return all(kind[key] == value for key, value in common.items())


def _words(kind: Kind) -> str:
    parts = [_word(name, caution, value) for (name, caution), value in kind.items()]
    return listed(parts, joint=say(" and ")) if parts else say("every flask")


def _word(name: str, caution: str, value: str | bool) -> str:
    if name != "caution":
        return in_words(name, value)
    words = in_words(name, caution)
    return words if value else say("no {caution}", caution=words)
