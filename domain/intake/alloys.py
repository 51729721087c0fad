"""Which of the shop's alloys a customer's words mean."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NoReturn

from domain.errors import InvalidValue
from domain.intake.numbers import LONGEST, Reading, shown
from domain.intake.questions import Answers, Asked, Question
from domain.intake.words import meanings, plain, remarks, words
from domain.saying import listed, say
from domain.shop.alloy import Alloy

NONE = "-"
"""The answer that a word means nothing that this shop casts."""

KARAT_FINENESS = {8: 333, 9: 375, 10: 417, 14: 585, 18: 750, 20: 833, 21: 875, 22: 916, 24: 999}
"""Parts per thousand by which karats are marked (ISO 9202)."""

_OLDER_MARKS = {416: 417, 583: 585, 917: 916}
_FINENESS_NAMES = {"gold": {333, 375, 416, 417, 583, 585, 750, 916, 917}, "silver": {800, 830, 835, 900, 925, 935, 958}}
_PRECIOUS = {"Au": "gold", "Ag": "silver", "Pt": "platinum", "Pd": "palladium"}
_COLOURS = {"yellow", "white", "red"}
_CONTENTS = {"pd": "Pd", "ni": "Ni", "si": "Si", "tin": "Sn", "ge": "Ge", "ru": "Ru", "co": "Co", "ir": "Ir"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What the words say: the metal, parts per thousand, the colour, elements named, words not known."""

    metal: str = ""
    fineness: int | None = None
    colour: str = ""
    contents: frozenset[str] = frozenset()
    mix: tuple[int, ...] = ()
    unknown: tuple[str, ...] = ()

    @property
    def enough(self) -> bool:
        """Whether the words leave nothing open. From 22 kt up there is too little alloy to colour gold."""
        if self.unknown:
            return False
        if self.metal == "gold":
            return self.fineness is not None and (bool(self.colour) or self.fineness >= 916)
        if self.metal in ("bronze", "brass"):
            return bool(self.contents or self.mix or self.colour)
        return self.fineness is not None

    @property
    def key(self) -> str:
        """The same for all ways to write the same words."""
        fineness = str(self.fineness) if self.fineness else ""
        parts = [self.metal, fineness, self.colour, *sorted(self.contents), *map(str, self.mix), *self.unknown]
        return " ".join(part for part in parts if part)


def wanted(text: str) -> Wanted:
    """What ``text`` says: ``14KY``, ``ster. silver``, ``18 kt white (Pd)``, ``bronze 90/10``."""
    tokens = re.findall(r"[0-9]+|[^\W\d_]+", text.lower())
    known = meanings("alloy_tokens")
    said = {meaning for t in tokens if t in known for meaning in known[t].split()}
    numbers = tuple(int(t[:4]) for t in tokens if t.isdecimal() and int(t[:4]) not in (0, 1000))  # as in 925/1000
    unknown = tuple(t for t in tokens if t not in known and not t.isdecimal())
    colour = next((c for c in ("yellow", "white", "red") if c in said), "")
    metal = _metal(said, colour, numbers)
    fineness = _fineness(said, metal, numbers)
    contents = frozenset(_CONTENTS[s] for s in said & set(_CONTENTS) if not (s == "pd" and metal == "palladium"))
    mix = numbers if metal in ("bronze", "brass") else ()
    if numbers and fineness is None and not mix:
        unknown += tuple(map(str, numbers))
    return Wanted(metal=metal, fineness=fineness, colour=colour, contents=contents, mix=mix, unknown=unknown)


def _metal(said: set[str], colour: str, numbers: tuple[int, ...]) -> str:
    for metal in ("gold", "silver", "platinum", "bronze", "brass"):
        if metal in said:
            return metal
    if "sterling" in said:
        return "silver"
    if "kt" in said or colour:
        return "gold"
    if "pd" in said:
        return "palladium"
    return next((metal for metal, marks in _FINENESS_NAMES.items() if set(numbers) & marks), "")


def _fineness(said: set[str], metal: str, numbers: tuple[int, ...]) -> int | None:
    if "sterling" in said:
        return 925
    if metal in ("bronze", "brass") or not metal:
        return None
    if not numbers:
        return 999 if "fine" in said else None
    marks = {_mark(number, metal) for number in numbers}
    return marks.pop() if len(marks) == 1 else None


def _mark(number: int, metal: str) -> int | None:
    """Parts per thousand for a karat or a mark; karats and older marks as ISO 9202 has them."""
    if metal == "gold":
        number = KARAT_FINENESS.get(number, _OLDER_MARKS.get(number, number))
    return number if 333 <= number < 1000 else None


def _contents(alloy: Alloy) -> set[str]:
    return {part.element for part in alloy.composition if part.high.base > 0}


def _metal_of(alloy: Alloy) -> str:
    if alloy.standard is not None:
        return _PRECIOUS.get(alloy.standard.element, alloy.standard.element)
    zinc = max((part.low.base for part in alloy.composition if part.element == "Zn"), default=0)
    copper = "Cu" in _contents(alloy)
    return "brass" if copper and zinc >= 100_000 else "bronze" if copper else ""


def _fits(alloy: Alloy, want: Wanted) -> bool:
    if _metal_of(alloy) != want.metal or not want.contents <= _contents(alloy):
        return False
    if want.fineness is not None and (alloy.standard is None or abs(alloy.standard.minimum.base - want.fineness * 1000) > 3000):
        return False
    if want.metal == "silver" and "Ge" not in want.contents and "Ge" in _contents(alloy):
        return False
    if want.metal == "bronze" and want.mix == (90, 10) and "Sn" not in _contents(alloy):
        return False
    return want.metal != "gold" or not want.colour or alloy.colour == want.colour


def read_alloy(text: str, alloys: Sequence[Alloy], answers: Answers) -> str:
    """The id of the shop's alloy that ``text`` means. Raises ``Asked`` of kind ``alloy:…`` where it
    may mean several, or a word is not known; ``InvalidValue`` where the shop casts no such alloy."""
    if len(text) > LONGEST:
        raise InvalidValue(
            "alloy",
            say("“{text}” is too long for an alloy; type one, such as {alloys}", text=shown(text), alloys=_examples(alloys)),
        )
    if not re.search(r"[^\W_]", text):
        raise InvalidValue(
            "alloy", say("“{text}” names no alloy; type one, such as {alloys}", text=shown(text), alloys=_examples(alloys))
        )
    own = next((a.id for a in alloys if plain(text) in (plain(a.id), plain(a.name))), None)
    if own is not None:
        return own
    said = plain(text)
    if said in remarks("alloy_asks"):
        return _ask(said.replace(" ", ""), text, alloys, _sterling(alloys), answers, say(remarks("alloy_asks")[said]))
    if set(said.split()) & set(words("not_cast")):
        _not_cast(text, alloys)
    return _of_wanted(text, wanted(text), alloys, answers)


def _of_wanted(text: str, want: Wanted, alloys: Sequence[Alloy], answers: Answers) -> str:
    fitting = [alloy for alloy in alloys if _fits(alloy, want)]
    if want.enough and len(fitting) == 1:
        return fitting[0].id
    if want.enough and not fitting:
        _not_cast(text, alloys)
    return _ask(want.key or plain(text), text, alloys, fitting or list(alloys), answers)


def _sterling(alloys: Sequence[Alloy]) -> list[Alloy]:
    return [alloy for alloy in alloys if _fits(alloy, Wanted(metal="silver", fineness=925))]


def _ask(key: str, text: str, alloys: Sequence[Alloy], offered: Sequence[Alloy], answers: Answers, hint: str = "") -> str:
    kind = f"alloy:{key}"
    said = answers.get(kind, "")
    if said in {alloy.id for alloy in alloys}:
        return said
    if said == NONE:
        _not_cast(text, alloys)
    readings = (*(Reading(a.id, a.name) for a in offered), Reading(NONE, say("nothing that this shop casts")))
    raise Asked(
        "alloy", Question(kind=kind, text=say("As an alloy, “{text}” means …", text=shown(text)), readings=readings, hint=hint)
    )


def _not_cast(text: str, alloys: Sequence[Alloy]) -> NoReturn:
    raise InvalidValue(
        "alloy",
        say(
            "this shop casts no “{text}”; type an alloy that it casts, such as {alloys}", text=shown(text), alloys=_examples(alloys)
        ),
    )


def _examples(alloys: Sequence[Alloy]) -> str:
    return listed((alloy.name for alloy in alloys[:2]), last=say(" or ")) or say("one of the shop's alloys (it has none yet)")
