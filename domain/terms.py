"""The trade's words and what they mean here, for the help pages."""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from domain.saying import heard, say


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
    return tuple(Term(say(row["word"]), say(row["means"])) for row in table["term"])


def words_in(html: str) -> tuple[Term, ...]:
    """The words that stand in the text of a page or a part of one, alone or as plurals, in the order of the work; the
    text and the words in the language of whoever reads."""
    text = re.sub(r"<[^>]*>", " ", html).lower()
    spoken = ((term, heard(term.word).lower()) for term in terms())
    return tuple(term for term, word in spoken if word in text and _plural(word).search(text))


@cache
def _plural(word: str) -> re.Pattern[str]:
    """The word alone, or with an ending that makes it plural in English, German or Spanish; Spanish puts it after the
    first word too."""
    first, *rest = (re.escape(part) for part in word.split(" "))
    after = rf" {' '.join(rest)}(?:s|es|n|en|e)?" if rest else ""
    return re.compile(rf"\b{first}(?:s|es|n|en|e|er)?{after}\b")


def word_of(label: str) -> Term | None:
    """The longest word of the trade in a label, none where it has none."""
    return max(words_in(heard(label)), key=lambda term: len(term.word), default=None)
