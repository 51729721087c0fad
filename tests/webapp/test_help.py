"""The trade's words are explained on one page that every page leads to."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape

import httpx
import pytest

from domain.saying import heard, into, say
from domain.terms import terms, word_of, words_in
from webapp.languages.catalogue import translator
from webapp.pages import resource_folder
from webapp.views.guides import GO, guides
from webapp.ways import Language


async def test_every_page_leads_to_the_words_and_each_has_its_anchor(client: httpx.AsyncClient) -> None:
    assert 'href="/help"' in (await client.get("/week")).text
    page = (await client.get("/help")).text
    assert all(f'id="{term.anchor}"' in page for term in terms())


def test_each_word_is_explained_once_and_in_sentences() -> None:
    assert len({term.anchor for term in terms()}) == len(terms())
    assert all(term.means[0].isupper() and term.means.endswith(".") for term in terms())


async def test_a_page_explains_the_words_that_stand_on_it_and_no_others(client: httpx.AsyncClient) -> None:
    page = (await client.get("/jobs")).text
    foot = page[page.index('<footer class="caution">') :]
    words = {term.word for term in words_in(page[: page.index("</main>")].partition("<main")[2])}
    assert "job" in words
    assert all((f"<dt>{term.word}</dt>" in foot) == (term.word in words) for term in terms())


def test_words_are_found_in_text_alone_and_the_longest_names_a_label() -> None:
    assert [term.word for term in words_in('<p class="soak">Two flasks, a sootsoaker.</p>')] == ["flask"]
    found = word_of("Flask temperature")
    assert found is not None
    assert found.word == "flask temperature"
    assert word_of("Currency") is None


async def test_a_field_explains_its_word_beside_its_label(client: httpx.AsyncClient) -> None:
    page = (await client.get("/shop/alloys/silver-925")).text
    assert 'popovertarget="melt_loss-word"' in page
    assert 'popover id="melt_loss-word"' in page
    targets = re.findall(r'popovertarget="([^"]+)"', page)
    assert len(targets) == len(set(targets))
    assert all(f'id="{one}"' in page for one in targets)


async def test_each_kind_of_user_has_a_guide_to_print(client: httpx.AsyncClient) -> None:
    for guide in guides():
        page = unescape((await client.get(f"/help/guide/{guide.key}")).text)
        assert all(point in page for part in guide.parts for point in part.points)
    assert (await client.get("/help/guide/nobody")).status_code == 404


async def test_the_keys_that_are_listed_are_those_of_the_script_and_lead_to_pages(client: httpx.AsyncClient) -> None:
    script = (resource_folder("static") / "keys.js").read_text(encoding="utf-8")
    table = script[script.index("const GO = {") : script.index("};")]
    assert dict(re.findall(r'(\w): "([^"]+)"', table)) == {letter: address for letter, _, address in GO}
    listed = (await client.get("/help/keys")).text
    for letter, _, address in GO:
        assert f'href="{address}" data-go="{letter}"' in listed
        assert (await client.get(address)).status_code == 200


@pytest.fixture
def german() -> Iterator[None]:
    into(translator(Language.GERMAN))
    yield
    into(None)


@pytest.mark.usefixtures("german")
def test_words_are_found_in_the_language_of_the_page() -> None:
    assert [term.word for term in words_in("<p>Zwei Küvetten, ein Tiegel, a button.</p>")] == ["flask", "crucible"]
    found = word_of(say("flask temperature"))
    assert found is not None
    assert found.word == "flask temperature"
    assert heard(found.means).startswith("Die Temperatur der Form beim Gießen.")


async def test_a_guide_and_the_words_are_read_in_german_with_the_same_anchors(client: httpx.AsyncClient) -> None:
    assert (await client.post("/who/units", data={"language": "Deutsch"})).status_code == 303
    page = (await client.get("/help")).text
    assert 'id="flask"><strong>Küvette</strong>' in page
    assert all(f'id="{term.anchor}"' in page for term in terms())
    guide = (await client.get("/help/guide/caster")).text
    assert "Für die Gießer <small>An der Werkbank, auf dem Tablet</small>" in guide
    assert '<body class="paper"' in guide


async def test_the_page_for_other_software_is_read_in_german_and_its_description_stays_english(client: httpx.AsyncClient) -> None:
    before = (await client.get("/api/v1/openapi.json")).json()
    assert (await client.post("/who/units", data={"language": "Deutsch"})).status_code == 303
    page = (await client.get("/help/api")).text
    assert "Der Inhalt ist kein JSON" in page
    assert "Read it again and make the change anew." not in page
    assert (await client.get("/api/v1/openapi.json")).json() == before
    assert "Everything that the screens do" in str(before)
