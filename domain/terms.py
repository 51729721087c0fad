"""The trade's words and what they mean here, for the help pages."""

from __future__ import annotations

import re
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


def words_in(html: str) -> tuple[Term, ...]:
    """The words that stand in the text of a page or a part of one, alone or as plurals, in the order of the work."""
    text = re.sub(r"<[^>]*>", " ", html).lower()
    return tuple(term for term in terms() if term.word in text and re.search(rf"\b{re.escape(term.word)}(s|es)?\b", text))


def word_of(label: str) -> Term | None:
    """The longest word of the trade in a label, none where it has none."""
    return max(words_in(label), key=lambda term: len(term.word), default=None)
