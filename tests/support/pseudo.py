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


def plain_words(html: str, data: Iterable[str]) -> Iterator[str]:
    """The texts of a page that hold a word of three letters or more without accents, once what is ``data`` is taken
    out of them."""
    texts = _Texts()
    texts.feed(html)
    phrases = sorted({one for one in data if len(one) > 1}, key=len, reverse=True)
    kept = re.compile("|".join(rf"(?<![^\W_]){re.escape(one)}(?![^\W_])" for one in phrases)) if phrases else None
    for text in texts.found:
        bare = kept.sub(" ", text) if kept else text
        if re.search(r"(?<![^\W_])[A-Za-z]{3,}(?![^\W_])", bare):
            yield " ".join(text.split())
