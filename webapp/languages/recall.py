"""Sentences that were kept as English text, found again among what is said: a plan keeps why a job is left out."""

from __future__ import annotations

import re
import string
from functools import cache, lru_cache

from domain.saying import Saying, say
from webapp.languages.catalogue import catalogue
from webapp.ways import Language

LEAST = 3
"""Letters that a pattern has beside its values; with fewer it fits what it never said."""

_MOMENT = re.compile(r"(\w{3} \d{1,2} \w{3}) (\d\d:\d\d)")


@lru_cache(maxsize=4096)
def recalled(text: str) -> str:
    """The saying that made the text, with its values recalled too; the text itself where none did."""
    if text in catalogue(Language.GERMAN):
        return say(text)
    return _moment(text) or _sentence(text) or text


def _moment(text: str) -> Saying | None:
    """“Fri 27 Nov 14:30”: a day and a time."""
    found = _MOMENT.fullmatch(text)
    return say("{day} {time}", day=recalled(found[1]), time=found[2]) if found else None


def _sentence(text: str) -> Saying | None:
    for shape, pattern in _shapes():
        if found := shape.fullmatch(text):
            return Saying(pattern, {name: recalled(value) for name, value in found.groupdict().items()})
    return None


@cache
def _shapes() -> tuple[tuple[re.Pattern[str], str], ...]:
    """What each pattern with values looks like, the one with most letters of its own first."""
    patterns = [p for p in catalogue(Language.GERMAN) if "{" in p and "<" not in p and _letters(p) >= LEAST]
    return tuple((_shape(p), p) for p in sorted(patterns, key=_letters, reverse=True))


def _letters(pattern: str) -> int:
    return len(re.sub(r"\{\w+\}|[\W\d_]", "", pattern))


def _shape(pattern: str) -> re.Pattern[str]:
    seen: set[str] = set()
    parts = []
    for text, name, _, _ in string.Formatter().parse(pattern):
        parts.append(re.escape(text))
        if name is not None:
            some = r"\d+" if name == "number" else ".*?"
            parts.append(f"(?P={name})" if name in seen else f"(?P<{name}>{some})")
            seen.add(name)
    return re.compile("".join(parts), re.S)
