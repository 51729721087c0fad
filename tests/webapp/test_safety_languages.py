"""What keeps people from being hurt is said in every language, with the same figures and paragraphs."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from domain.safety.checklist import STANDING_CAUTION
from domain.safety.own_points import change_of, kept_text, start_row
from domain.safety.points import rows
from domain.saying import Saying, heard, into
from webapp.languages.catalogue import catalogue, translator
from webapp.views.checklists import texts_of
from webapp.ways import Language

OTHERS = (Language.GERMAN, Language.SPANISH)


def texts() -> Iterator[str]:
    """All that the starting tables say, and the note under every page."""
    for file in ("checklist.toml", "cautions.toml"):
        for row in rows(file):
            yield from (row[name].pattern for name in ("text", "why") if name in row)
            yield from (note.pattern for note in row["source"][1:])
    yield STANDING_CAUTION.pattern


FIGURE = re.compile(r"\((?:[a-z]{1,4}|[A-Z]|\d)\)|CFR|ANSI|ISEA|[A-Z]?\d[\d.]*\d|\d|°C|µg|kPa|psi[ag]|\bft\b")


def figures(text: str) -> list[str]:
    """Numbers with their units, paragraphs and standards."""
    return sorted(FIGURE.findall(text))


@pytest.mark.parametrize("language", OTHERS)
def test_every_point_and_caution_is_said(language: Language) -> None:
    known = catalogue(language)
    assert [text for text in texts() if text not in known] == []


@pytest.mark.parametrize("language", OTHERS)
def test_no_figure_and_no_paragraph_is_lost_or_changed(language: Language) -> None:
    known = catalogue(language)
    assert [text for text in texts() if figures(text) != figures(known[text])] == []


@pytest.fixture
def german() -> Iterator[None]:
    into(translator(Language.GERMAN))
    yield
    into(None)


@pytest.mark.usefixtures("german")
@pytest.mark.parametrize(
    ("point", "kept", "read"),
    [
        (
            "melt-crucible",
            "Match the crucible's mark with the alloy: Gold, 750.",
            "Zeichen des Tiegels mit der Legierung abgleichen: Gold, 750.",
        ),
        ("invest-liquid", "Read the temperature of water and write it down.", "Temperatur ablesen und aufschreiben: Wasser."),
        ("invest-liquid", "Read the dial.", "Read the dial."),
        ("own-lid", "Hot metal throws acid.", "Hot metal throws acid."),
    ],
)
def test_what_was_kept_in_english_is_heard_where_it_is_a_starting_text(point: str, kept: str, read: str) -> None:
    assert kept_text(point, kept) == kept
    assert heard(kept_text(point, kept)) == read


def test_the_form_of_a_starting_point_holds_the_words_as_they_are_kept() -> None:
    change, start = change_of("invest-tree"), start_row("invest-tree")
    assert change is not None
    assert start is not None
    shown = texts_of(change)
    assert shown["text"] == start["text"]
    assert isinstance(start["text"], Saying)
    assert not isinstance(shown["text"], Saying)
