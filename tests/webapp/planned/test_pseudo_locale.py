"""Every page in a language that nobody speaks: what is still in plain letters is data, or was not said."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import httpx
import pytest
from addresses import PAGES
from babel.dates import format_date
from fastapi import FastAPI
from pseudo import plain_words, pseudo

from domain.safety.catalogue import BLANKS
from webapp import acting, pages
from webapp.actions.exchange import week_document
from webapp.settings import Settings

UNITS = "mm min dwt ozt psi kPa mbar rpm cm³ in³ g/cm³"
TYPED = (
    "a test",
    "other things are tested here",
    "the bench was swept on Friday",
    "typed twice",
    "solid",
    "rest",
    *(f"{{{name}}}" for name in BLANKS),
)
"""By the fixtures and the demo, beside the week itself."""
NAMES = (
    "Castweek CSV XLSX PDF JSON STL OBJ 3MF API CFR ISO OSHA NIST PIN URL www http https localhost lang "
    "English Deutsch Español Language Sprache Idioma OpenAPI Authorization Bearer Idempotency-Key curl A4 XDG Letter"
)
FORMS = ("EEE", "EEEE", "MMM", "MMMM")
DAYS = {format_date(date(2026, 1, 1) + timedelta(days=n), form, locale="de") for n in range(365) for form in FORMS}


@pytest.fixture
def strange(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    for module in (acting, pages):
        monkeypatch.setattr(module, "translator", lambda _: pseudo)
    pages.environment_of.cache_clear()
    yield
    pages.environment_of.cache_clear()


def texts(value: Any) -> Iterator[str]:
    """All texts of a document, and its names."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for one in value.values():
            yield from texts(one)
        yield from map(str, value)
    elif isinstance(value, list | tuple):
        for one in value:
            yield from texts(one)


@pytest.mark.usefixtures("strange")
async def test_all_that_a_page_says_is_said(client: httpx.AsyncClient, app: FastAPI, settings: Settings) -> None:
    document = week_document(app.state.db, settings).model_dump(mode="json")
    data = {*texts(document), *UNITS.split(), *NAMES.split(), *DAYS, *TYPED}
    data |= {part for one in data for part in one.split(", ")} - {""}
    await client.post("/who/units", data={"language": "Deutsch"})
    left = {}
    for name, address in PAGES.items():
        found = list(plain_words((await client.get(address)).text, data))
        if found:
            left[name] = found
    assert left == {}
