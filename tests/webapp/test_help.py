"""The trade's words are explained on one page that every page leads to."""

from __future__ import annotations

import httpx

from domain.terms import terms


async def test_every_page_leads_to_the_words_and_each_has_its_anchor(client: httpx.AsyncClient) -> None:
    assert 'href="/help"' in (await client.get("/week")).text
    page = (await client.get("/help")).text
    assert all(f'id="{term.anchor}"' in page for term in terms())


def test_each_word_is_explained_once_and_in_sentences() -> None:
    assert len({term.anchor for term in terms()}) == len(terms())
    assert all(term.means[0].isupper() and term.means.endswith(".") for term in terms())
