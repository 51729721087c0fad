"""The words of job lists, from ``words.toml`` beside this file."""

from __future__ import annotations

import re
import tomllib
from functools import cache, lru_cache
from importlib.resources import files


@cache
def _all() -> dict[str, dict[str, list[str] | str]]:
    text = files("domain.intake").joinpath("words.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


@cache
def meanings(section: str) -> dict[str, str]:
    """Word → meaning, for one section of the file."""
    return {word: meaning for meaning, words in _all()[section].items() for word in (words if isinstance(words, list) else [words])}


@cache
def words(section: str, key: str = "words") -> tuple[str, ...]:
    """The words listed under ``key``, longest first."""
    listed = _all()[section][key]
    return tuple(sorted(listed, key=len, reverse=True)) if isinstance(listed, list) else (listed,)


@cache
def remarks(section: str) -> dict[str, str]:
    """Key → remark, for a section that holds one text per key."""
    return {key: text for key, text in _all()[section].items() if isinstance(text, str)}


@lru_cache(maxsize=4096)
def plain(text: str) -> str:
    """Lower case, letters and digits only, single spaces: what words are compared by."""
    return re.sub(r"[\W_]+", " ", text.lower()).strip()


@cache
def _phrase(section: str, key: str) -> re.Pattern[str]:
    listed = "|".join(re.escape(plain(word)) for word in words(section, key))
    return re.compile(rf"(?<!\S)(?:{listed})(?!\S)")


def says(text: str, section: str, key: str) -> str:
    """The first phrase of ``key`` that ``text`` contains as whole words and does not negate; empty if none."""
    simple = plain(text)
    negations = words("notes", "negation")
    for match in _phrase(section, key).finditer(simple):
        before = simple[: match.start()].split()
        if not before or before[-1] not in negations:
            return match.group()
    return ""
