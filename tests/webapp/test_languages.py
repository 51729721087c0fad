"""What is said in other languages: sentences found in templates, catalogues that fit them, values kept."""

from __future__ import annotations

import pickle
import re
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import jinja2
import pytest
from sayings import marks

from domain.errors import DomainError
from domain.saying import Saying, heard, into, listed, say
from webapp import formats
from webapp.languages.catalogue import catalogue
from webapp.languages.collect import in_template, said
from webapp.languages.segments import sentences, swapped
from webapp.pages import resource_folder
from webapp.ways import Language, Ways, within

ROOT = Path(__file__).resolve().parents[2]
TEMPLATES = sorted(resource_folder("templates").rglob("*.html"))
OTHERS = (Language.GERMAN, Language.SPANISH)
WORDS = {"{flask} is full on {day}": "Am {day} ist {flask} voll", "kiln 2": "Ofen 2", " and ": " und "}


@pytest.fixture
def german() -> Iterator[None]:
    into(lambda pattern: WORDS.get(pattern, pattern))
    yield
    into(None)


def _as_one_line(text: str) -> str:
    return re.sub(r"\s+", " ", text)


@pytest.mark.parametrize("template", TEMPLATES, ids=lambda file: file.name)
def test_a_template_with_its_own_sentences_is_the_same_template(template: Path) -> None:
    source = template.read_text(encoding="utf-8")
    assert _as_one_line(swapped(source, lambda sentence: sentence)) == _as_one_line(source)


@pytest.mark.parametrize(
    ("source", "found"),
    [
        ("<p>Cast {{ line.cast|moment }} on {{ line.machine }}</p>", ["Cast {cast} on {machine}"]),
        ('<p>See <a href="/week">the week</a>.</p>', ["See <1>the week</1>."]),
        ('<p><a href="/a">One</a> <a href="/b">Two</a></p>', ["One", "Two"]),
        ("<dt>By</dt><dd>{{ name }}</dd>", ["By"]),
        ('<button aria-label="Undo: {{ task.stage }}">Undo</button>', ["Undo: {stage}", "Undo"]),
        ("<p>{% if late %}late{% else %}in time{% endif %}</p>", ["late", "in time"]),
        ("<p>{{ a|mass }} of {{ a|mass('g') }}</p>", ["{a} of {a2}"]),
        ("<script>let words = 1</script><p>12 %</p>", []),
        ('<td data-label="Mass">{{ a }}</td>', ["Mass"]),
        ('{% macro m(id) %} aria-invalid="true" aria-describedby="{{ id }}-error"{% endmacro %}', []),
    ],
)
def test_sentences_run_to_the_next_block_or_statement(source: str, found: list[str]) -> None:
    assert sentences(source) == found


def test_words_of_an_expression_are_found_where_they_are_marked() -> None:
    source = '{{ _("nobody yet") if not n else n|count("flask") }}'
    assert list(in_template(source)) == [
        "nobody yet",
        "{number} flask",
        "{number} flasks",
    ]


def test_values_and_tags_go_where_the_other_language_has_them() -> None:
    source = '<p>See <a href="/week">the week of {{ day }}</a> first.</p>'
    spoken = swapped(source, lambda _: "Zuerst <1>die Woche vom {day}</1> ansehen.")
    assert spoken == '<p>Zuerst <a href="/week">die Woche vom {{ day }}</a> ansehen.</p>'


def test_a_saying_is_its_english_text() -> None:
    told = say("{flask} is full on {day}", flask=say("kiln 2"), day="Tue")
    assert told == "kiln 2 is full on Tue"
    assert isinstance(str(DomainError(told)), Saying)


@pytest.mark.usefixtures("german")
def test_a_saying_is_heard_in_the_readers_language_with_its_values() -> None:
    told = say("{flask} is full on {day}", flask=say("kiln 2"), day="Tue")
    assert heard(told) == "Am Tue ist Ofen 2 voll"
    assert heard(pickle.loads(pickle.dumps(told))) == heard(told)
    assert heard(listed([say("kiln 2"), "F4", "F5"], last=say(" and "))) == "Ofen 2, F4 und F5"
    assert (
        jinja2.Environment(autoescape=True).from_string("{{ a }}, {{ b }}").render(a=told, b="kiln 2")
        == "Am Tue ist Ofen 2 voll, kiln 2"
    )


@pytest.mark.usefixtures("german")
def test_a_value_is_never_taken_for_markup_or_a_pattern() -> None:
    told = say("{flask} is full on {day}", flask="<b>{day}</b>", day="Tue")
    assert told.__html__() == "Am Tue ist &lt;b&gt;{day}&lt;/b&gt; voll"


@pytest.mark.parametrize("language", OTHERS)
def test_a_translation_has_the_values_and_tags_of_the_english(language: Language) -> None:
    wrong = [english for english, other in catalogue(language).items() if marks(english) != marks(other)]
    assert wrong == []


@pytest.mark.parametrize("language", OTHERS)
def test_no_string_is_missing(language: Language) -> None:
    assert {english: file for english, file in said(ROOT).items() if english not in catalogue(language)} == {}


@pytest.mark.parametrize("language", OTHERS)
def test_nothing_is_translated_that_is_not_said(language: Language) -> None:
    assert set(catalogue(language)) - set(said(ROOT)) == set()


@pytest.mark.outside("Unicode CLDR by Babel: abbreviated days and months in German and Spanish")
def test_days_are_written_as_the_locale_writes_them() -> None:
    when = date(2026, 11, 26)
    with within(Ways(language=Language.GERMAN)):
        assert formats.day(when) == "Do., 26. Nov."
        assert formats.weekday(when) == "Donnerstag"
        assert formats.short_day("2026-11-26") == "Do., 26."
        assert formats.long_month("2026-03") == "März 2026"
        assert formats.begun(say("mass")) == "Mass"
    with within(Ways(language=Language.SPANISH)):
        assert formats.long_day(when) == "jue, 26 nov 2026"
        assert formats.weekday(when) == "jueves"
