"""What is said to people: an English sentence that still knows its pattern and its values, so that it can be said in
another language where it is shown.

A saying is its English text, and is compared, kept, logged and exported as that. A page shows it in the language of
whoever reads: templates ask a value for ``__html__``. What leaves otherwise (a message carried to the next page, an
event, a feed) asks ``heard``. Putting a saying into an f-string, or adding to it, makes plain English of it: give it to
``say`` as a value instead.
"""

from __future__ import annotations

import string
from collections.abc import Callable, Iterable, Mapping
from contextvars import ContextVar
from functools import lru_cache
from html import escape
from typing import TypeAlias

Translate: TypeAlias = Callable[[str], str]
"""From an English pattern to that of another language, the same where it has none."""
_INTO: ContextVar[Translate | None] = ContextVar("into", default=None)


class Saying(str):
    """Made by ``say``. ``pattern``: with the names of its values in braces."""

    pattern: str
    values: Mapping[str, object]

    def __new__(cls, pattern: str, values: Mapping[str, object]) -> Saying:
        made = super().__new__(cls, _filled(pattern, values, str))
        made.pattern, made.values = pattern, values
        return made

    def __str__(self) -> Saying:
        return self

    def __html__(self) -> str:
        return escape(heard(self))

    def __reduce__(self) -> tuple[type[Saying], tuple[str, Mapping[str, object]]]:
        return type(self), (self.pattern, self.values)


def say(pattern: str, /, **values: object) -> Saying:
    """``say("{flask} is cast on {day}", flask=…, day=…)``. Each pattern is in every catalogue; a value may be a saying."""
    return Saying(pattern, values)


def listed(parts: Iterable[object], joint: str = ", ", last: str | None = None) -> Saying:
    """The parts one after the other, ``last`` before the last one: ``listed(names, last=say(" and "))``."""
    all_of = list(parts)
    joints = [joint] * max(0, len(all_of) - 1)
    if joints and last is not None:
        joints[-1] = last
    values: dict[str, object] = {}
    for number, part in enumerate(all_of):
        values[f"p{number}"] = part
        if number < len(joints):
            values[f"j{number}"] = joints[number]
    return Saying("".join(f"{{{name}}}" for name in values), values)


def heard(text: object) -> str:
    """In the language of whoever reads; what is no saying stays as it is."""
    into = _INTO.get()
    if not isinstance(text, Saying) or into is None:
        return "".join(str(text))
    return _filled(into(text.pattern), text.values, heard)


def into(translate: Translate | None) -> None:
    """For the rest of this request; none for English."""
    _INTO.set(translate)


def _filled(pattern: str, values: Mapping[str, object], written: Callable[[object], str]) -> str:
    if not values:
        return pattern.replace("{{", "{").replace("}}", "}")
    return "".join(text + (written(values[name]) if name is not None else "") for text, name in _parsed(pattern))


@lru_cache(maxsize=4096)
def _parsed(pattern: str) -> tuple[tuple[str, str | None], ...]:
    """Each text with the name of the value after it, none at the end."""
    return tuple((text, name) for text, name, _, _ in string.Formatter().parse(pattern))
