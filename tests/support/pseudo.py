"""A language that nobody speaks: each letter of what is said gets an accent, so that what was not said stands out."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from html.parser import HTMLParser

SPOKEN = {"aria-label", "title", "placeholder", "alt"}
PLAIN = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
STRANGE = "åƀçđéƒǧħîĵķļṁñöþǫŕšŧûṽŵẋýžÅƁÇĐÉƑǦĦÎĴĶĻṀÑÖÞǪŔŠŦÛṼŴẊÝŽ"
_TABLE = str.maketrans(PLAIN, STRANGE)
_KEPT = re.compile(r"(\{\w+\}|</?\d+/?>|&\w+;)")


def pseudo(pattern: str) -> str:
    """Its values and tags stay."""
    return "".join(part if _KEPT.fullmatch(part) else part.translate(_TABLE) for part in _KEPT.split(pattern))


class _Texts(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self.silent: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        silent = tag in {"script", "style", "pre", "code", "textarea"} or given.get("translate") == "no"
        if silent or (given.get("lang") and tag != "html"):
            self.silent.append(tag)
        self.found += [text or "" for name, text in attrs if name in SPOKEN and not self.silent]

    def handle_endtag(self, tag: str) -> None:
        if self.silent and self.silent[-1] == tag:
            self.silent.pop()

    def handle_data(self, data: str) -> None:
        if not self.silent:
            self.found.append(data)


def plain_words(html: str, known: Iterable[str]) -> Iterator[str]:
    """The texts of a page that hold a word of three letters or more without accents that is not ``known``."""
    texts = _Texts()
    texts.feed(html)
    allowed = set(known)
    for text in texts.found:
        words = re.findall(r"(?<![^\W_])[A-Za-z]{3,}(?![^\W_])", text)
        if any(word.lower() not in allowed for word in words):
            yield " ".join(text.split())
