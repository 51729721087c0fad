"""Sizes as people type them: three lengths, or a diameter and a thickness."""

from __future__ import annotations

import re
from typing import TypeAlias

from domain.errors import InvalidValue
from domain.intake.numbers import LONGEST, NO_CHOICES, Choices, cleaned, shown, split_number
from domain.intake.typed import read_length
from domain.saying import say
from domain.shop.pattern import PieceSize
from domain.units import Length

Three: TypeAlias = tuple[Length, Length, Length]

SIZE_ORDERS = {
    "long-up": say("the longest stands along the trunk, the shortest reaches away from it"),
    "long-out": say("the longest reaches away from the trunk, the shortest lies along the ring"),
    "typed": say("as typed: along the ring × along the trunk × away from it"),
}
"""How three lengths become a box on the tree."""

_DIAMETER = re.compile(r"(?:\b(?:diameter|diametro|durchmesser|diamètre|diam|durchm|dia)\b|ø|⌀)\s*\.?:?", re.IGNORECASE)
_THICK = re.compile(r"\b(?:thick|thk|high|tall|long|deep|dick|hoch|lang|stark|épais|spesso|grueso|dik)\b\.?", re.IGNORECASE)
_BETWEEN = re.compile(r"\s*(?:(?<![a-lo-wyz])[x×*](?=\s*[\d.,ø])|;|,(?=\s)|\bby\b)\s*", re.IGNORECASE)
EXAMPLE = say("24 x 15 x 8 mm, or dia 30 x 5 mm")


def read_size(text: str, default_unit: str | None, choices: Choices = NO_CHOICES) -> Three:
    """Three lengths above zero, in the order typed; a diameter counts twice, before the thickness.

    ``24x15x8.3``, ``22 x 18 x 6.7 mm``, ``3/4" x 3/8" x 1/8"``, ``dia 30, 4.9 thick``. A unit behind
    the last number serves those without one. Raises ``Ambiguous`` of kind ``unit`` where no unit is
    known, ``InvalidValue`` for everything else.
    """
    if len(text) > 2 * LONGEST:
        raise InvalidValue(
            "size", say("“{text}” is too long for a size; type three lengths, such as {example}", text=shown(text), example=EXAMPLE)
        )
    clean = _DIAMETER.sub("ø", cleaned(text).replace("inches", "in"))
    parts = [part.strip() for part in _BETWEEN.split(_THICK.sub("", clean)) if part.strip()]
    round_ones = ["ø" in part for part in parts]
    if (len(parts), sum(round_ones)) not in ((3, 0), (2, 1)):
        raise InvalidValue(
            "size", say("“{clean}” is not a size; type three lengths, such as {example}", clean=shown(clean), example=EXAMPLE)
        )
    lengths = _lengths([part.replace("ø", "").strip() for part in parts], default_unit, choices)
    if any(length.base <= 0 for length in lengths):
        raise InvalidValue(
            "size",
            say(
                "“{clean}” has a length of nothing; type three lengths above zero, such as {example}",
                clean=shown(clean),
                example=EXAMPLE,
            ),
        )
    if len(lengths) == 3:
        return (lengths[0], lengths[1], lengths[2])
    diameter, thickness = lengths if round_ones[0] else lengths[::-1]
    return (diameter, diameter, thickness)


def _lengths(parts: list[str], default_unit: str | None, choices: Choices) -> list[Length]:
    unit = split_number(parts[-1], "size")[1]
    whole = [part if split_number(part, "size")[1] or not unit else f"{part} {unit}" for part in parts]
    return [read_length(part, default_unit, "size", choices) for part in whole]


def box(lengths: Three, order: str) -> PieceSize:
    """The box on the tree, by one of ``SIZE_ORDERS``."""
    if order == "typed":
        width, height, reach = lengths
    elif order == "long-out":
        width, height, reach = sorted(lengths)
    else:
        reach, width, height = sorted(lengths)
    return PieceSize(width=width, height=height, reach=reach)
