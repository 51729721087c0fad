"""The trade's words and what they mean here, for the help pages."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True, slots=True)
class Term:
    """``means``: in a sentence or two. Common practice, no source."""

    word: str
    means: str

    @property
    def anchor(self) -> str:
        return self.word.replace(" ", "-")


@cache
def terms() -> tuple[Term, ...]:
    """All words, in the order of the work."""
    table = tomllib.loads(files("domain").joinpath("terms.toml").read_text(encoding="utf-8"))
    return tuple(Term(row["word"], row["means"]) for row in table["term"])
