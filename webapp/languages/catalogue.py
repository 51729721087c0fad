"""Catalogues: for each language the PO files of its folder, from English as it stands in the code and the templates.

PO is the open format that translators' tools read. A pattern's values stand in braces, ``{flask}``; in what comes from
a template, ``<1>…</1>`` are the marks around words that are linked or set apart, in the order of the English.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from io import StringIO

from babel.messages.pofile import read_po

from domain.saying import Translate
from webapp.ways import Language

PLACE = "webapp.languages"


@cache
def catalogue(language: Language) -> dict[str, str]:
    """English patterns and what they are called; empty for English."""
    if language is Language.ENGLISH:
        return {}
    found: dict[str, str] = {}
    for file in sorted(files(PLACE).joinpath(language.code).iterdir(), key=lambda one: one.name):
        if file.name.endswith(".po"):
            messages = read_po(StringIO(file.read_text(encoding="utf-8")))
            found.update((str(one.id), str(one.string)) for one in messages if one.id and one.string)
    return found


@cache
def translator(language: Language) -> Translate | None:
    """None for English, which needs none."""
    if language is Language.ENGLISH:
        return None
    known = catalogue(language)
    return lambda pattern: known.get(pattern, pattern)
