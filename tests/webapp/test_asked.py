"""The language of whoever has chosen none: the browser's, unless the shop chose."""

from __future__ import annotations

import httpx
import pytest

from domain.saying import Saying
from webapp.forms.build import Group, Item, Rows, form_of
from webapp.languages.asked import asked_for
from webapp.languages.catalogue import catalogue
from webapp.shop_nouns import NOUNS, Noun
from webapp.ways import Language

GERMAN = {"Accept-Language": "de-CH,de;q=0.9,en;q=0.5"}


@pytest.mark.parametrize(
    ("header", "language"),
    [
        ("", None),
        ("fr, it;q=0.8", None),
        ("*", None),
        ("de", Language.GERMAN),
        ("ES-mx", Language.SPANISH),
        ("de-CH,de;q=0.9,en;q=0.5", Language.GERMAN),
        ("fr,es;q=0.4,de;q=0.6", Language.GERMAN),
        ("en;q=0.8, es;q=0.8", Language.ENGLISH),
        ("en-GB, de;q=0.9", Language.ENGLISH),
        ("de;q=0, es;q=0.001", Language.SPANISH),
        ("den, de;q=x, es ; q = 0.3", Language.SPANISH),
    ],
)
def test_the_language_most_wanted_of_ours_is_taken(header: str, language: Language | None) -> None:
    assert asked_for(header) is language


async def test_whoever_chose_nothing_reads_in_the_language_of_the_browser(client: httpx.AsyncClient) -> None:
    assert '<html lang="de">' in (await client.get("/shop", headers=GERMAN)).text
    assert '<html lang="es">' in (await client.get("/shop", headers={"Accept-Language": "es"})).text
    assert '<html lang="en">' in (await client.get("/shop")).text


async def test_what_the_shop_chose_wins_over_the_browser(client: httpx.AsyncClient) -> None:
    await client.post("/setup/units", data={"language": "Español"})
    assert '<html lang="es">' in (await client.get("/shop", headers=GERMAN)).text


async def test_the_set_up_offers_the_language_first_and_the_browsers_is_chosen(client: httpx.AsyncClient) -> None:
    page = (await client.get("/setup/units", headers=GERMAN)).text
    assert page.index('name="language"') < page.index('name="metal"')
    assert '<option value="Deutsch" selected>' in page
    assert '<option value="1.234,5" selected>' in page
    assert "Werkstatt einrichten" in page


async def test_an_error_page_speaks_the_language_of_the_browser(client: httpx.AsyncClient) -> None:
    assert "Nicht gefunden" in (await client.get("/shop/nothing", headers=GERMAN)).text


def _said(items: tuple[Item, ...]) -> list[str]:
    found = []
    for item in items:
        found += [item.label, item.hint.values.get("hint", item.hint) if isinstance(item.hint, Saying) else item.hint]
        if isinstance(item, Group):
            found += _said(item.items)
        elif isinstance(item, Rows):
            found += [*item.heads, *(said for row in item.rows for said in _said(row))]
    return [str(text) for text in found]


@pytest.mark.parametrize("noun", NOUNS, ids=lambda noun: noun.slug)
def test_every_label_and_hint_of_the_shops_forms_is_said_in_other_languages(noun: Noun) -> None:
    said = {text for text in _said(form_of(noun.document, {}).items) if text}
    patterns = set(catalogue(Language.GERMAN))
    assert {text for text in said if text not in patterns and "without a unit" not in text} == set()
