"""Fineness and compositions as people type them: ``18 k``, ``925``, ``Ag 92.5 Cu rest``, ``14k yellow``.

A karat is a twenty-fourth part by mass. Without a unit a number from 100 to 1000 is read as parts per
thousand, as it is stamped (ISO 9202); smaller ones have more than one reading and are asked back.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from fractions import Fraction

from domain.errors import InvalidValue
from domain.intake.alloys import wanted
from domain.intake.numbers import read_number, shown, split_number
from domain.intake.typed import SHARE_WORDS
from domain.metallurgy.elements import elements
from domain.saying import say
from domain.units import Share

KARAT_WORDS = frozenset({"k", "kt", "kts", "karat", "karats", "carat", "carats", "ct"})
REST_WORDS = frozenset({"rest", "balance", "bal", "remainder"})
PRECIOUS_WORDS = {"gold": "Au", "silver": "Ag", "platinum": "Pt", "palladium": "Pd"}
EXAMPLE = say("750 ‰, 92.5 % or 18 k")
WHOLE = Fraction(1)
_TOKEN = re.compile(r"[^\W\d_]+|[0-9]+(?:[.,][0-9]+)?|[%‰]")


def read_fineness(text: str, field: str = "fineness", *, up: bool = False) -> Share:
    """A fineness from 0 to 1000 ‰, as in ``EXAMPLE``. What parts per million cannot hold (14 k is
    583.333… ‰) is rounded down, or up where ``up`` says so: what is wanted is then never missed."""
    number, unit = split_number(text, field)
    value = read_number(number, field) * _fineness_unit(text, number, unit.casefold().strip(" ."), field)
    if not 0 <= value <= 1:
        raise InvalidValue(
            field,
            say("“{text}” is more than the whole; type a fineness such as {example}", text=shown(text.strip()), example=EXAMPLE),
        )
    return Share((math.ceil if up else math.floor)(value * 1_000_000))


def _fineness_unit(text: str, number: str, unit: str, field: str) -> Fraction:
    """What one of the number is as a share of the whole."""
    if unit in KARAT_WORDS:
        return Fraction(1, 24)
    if unit in SHARE_WORDS:
        return Share.UNITS[SHARE_WORDS[unit]] / 1_000_000
    if unit:
        raise InvalidValue(
            field,
            say(
                "“{text}”: “{unit}” is no unit of fineness; type {example}",
                text=shown(text.strip()),
                unit=shown(unit),
                example=EXAMPLE,
            ),
        )
    value = read_number(number, field)
    if "/" in number or value == 0:
        return WHOLE
    if value >= 100:
        return Fraction(1, 1000)
    raise InvalidValue(
        field,
        say(
            "“{text}” may be karats, percent or parts per thousand; type it as {example}",
            text=shown(text.strip()),
            example=EXAMPLE,
        ),
    )


def read_composition(text: str, field: str = "composition") -> dict[str, Fraction]:
    """The exact share of each element, adding up to one: ``Au 75, Ag 12.5, Cu 12.5``, ``Ag 925 Cu rest``,
    ``90 % Cu 10 % Sn``. Percent, or parts per thousand where the numbers add up to more than 100."""
    named = _pairs(text, field)
    rest = [element for element, number in named.items() if number is None]
    given = {element: number for element, number in named.items() if number is not None}
    scale = _scale(text, given)
    shares = {element: number / scale for element, number in given.items()}
    known = sum(shares.values(), Fraction(0))
    if len(rest) == 1 and known < 1:
        return {**shares, rest[0]: 1 - known}
    if rest or abs(known - 1) > Fraction(1, 1000):
        raise InvalidValue(
            field,
            say("the shares add up to {share} %, not to 100 %; one element may be “rest”", share=format(float(known * 100), "g")),
        )
    return {element: share / known for element, share in shares.items()}


def _scale(text: str, given: Mapping[str, Fraction]) -> Fraction:
    if "‰" in text:
        return Fraction(1000)
    return Fraction(1000 if "%" not in text and sum(given.values()) > Fraction("100.2") else 100)


def _pairs(text: str, field: str) -> dict[str, Fraction | None]:
    """Element and number in either order; no number for the one that takes the rest."""
    tokens = [t for t in _TOKEN.findall(text) if t not in "%‰"]
    if len(tokens) < 2 or len(tokens) % 2:
        raise InvalidValue(field, say("“{text}” is no composition; type one such as Ag 92.5 Cu 7.5", text=shown(text.strip())))
    pairs = list(zip(tokens[::2], tokens[1::2], strict=True))
    if tokens[0][0].isdigit():
        pairs = [(element, number) for number, element in pairs]
    found: dict[str, Fraction | None] = {}
    for word, number in pairs:
        element = _element(word, field)
        if element in found:
            raise InvalidValue(field, say("{word} is there twice; type each element once", word=word))
        found[element] = None if number.casefold() in REST_WORDS else read_number(number, field)
    return found


def _element(word: str, field: str) -> str:
    names = {symbol.casefold(): symbol for symbol in elements()}
    names |= {element.name: symbol for symbol, element in elements().items()}
    element = names.get(word.casefold())
    if element is None:
        raise InvalidValue(
            field, say("“{word}” is no element that castings are made of; type symbols such as Ag or Cu", word=shown(word))
        )
    return element


def read_scrap(text: str, field: str = "metal") -> dict[str, Fraction]:
    """What is certain of a piece of scrap by its mark: a composition in full, or the precious metal alone
    (``18k yellow``, ``sterling``, ``750``). A karat counts at the lower of its mark and its twenty-fourths."""
    try:
        return read_composition(text, field)
    except InvalidValue as no_composition:
        want = wanted(text)
        if want.metal not in PRECIOUS_WORDS or want.fineness is None or want.unknown:
            raise InvalidValue(
                field, say("{problem}, or a mark such as 18k yellow or 925 silver", problem=str(no_composition))
            ) from None
    share = Fraction(want.fineness, 1000)
    karat = re.search(r"([0-9]+)\s*k", text.casefold())
    twenty_fourths = Fraction(int(karat.group(1)), 24) if karat and want.metal == "gold" else share
    return {PRECIOUS_WORDS[want.metal]: min(share, twenty_fourths)}
