"""The week as somebody reads it who chose another language: sentences, days, and reasons that the plan keeps in English."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator

import httpx
import pytest

from domain.saying import Saying, heard, into
from webapp.languages.catalogue import translator
from webapp.languages.recall import recalled
from webapp.ways import Language

REASON = "Job J1 Ring: both 3 x 4 flasks are in use until Tue 3 Mar 09:00"


async def _read(client: httpx.AsyncClient, language: str, address: str) -> str:
    await client.post("/who/units", data={"language": language})
    page = await client.get(address)
    assert page.status_code == 200
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", page.text)))


@pytest.fixture
def german() -> Iterator[None]:
    into(translator(Language.GERMAN))
    yield
    into(None)


async def test_the_week_tells_what_is_late_and_why_in_german(client: httpx.AsyncClient) -> None:
    week = await _read(client, "Deutsch", "/week")
    assert "Nicht geplant 1 Auftrag" in week
    assert "Verspätet 2 Aufträge" in week
    assert "Hinged bracelet: seine Modelle sind am Mi., 4. März bereit. Seine Modelle bis Di., 3. März besorgen." in week
    assert "Ofenladung L1, 8 Küvetten" in week
    assert "Di. 18:30 bis Mi. 07:00" in week


async def test_a_reason_that_the_plan_keeps_is_told_in_the_readers_language(client: httpx.AsyncClient) -> None:
    assert "Auftrag J146 Heron door handle passt in keine Küvette der Werkstatt" in await _read(client, "Deutsch", "/jobs/J146")
    assert "El encargo J146 Heron door handle no cabe en ningún cilindro" in await _read(client, "Español", "/jobs/J146")
    assert "Job J146 Heron door handle fits no flask that the shop owns" in await _read(client, "English", "/jobs/J146")


async def test_the_wall_is_printed_in_the_readers_language(client: httpx.AsyncClient) -> None:
    wall = await _read(client, "Español", "/print/week/2026-03-02")
    assert "TARDE, hecho" in wall
    assert "Ilko y Runa" in wall
    assert "Revestir" in wall


@pytest.mark.usefixtures("german")
def test_kept_english_is_found_again_with_its_values() -> None:
    assert recalled(REASON) == REASON
    assert heard(recalled(REASON)) == "Auftrag J1 Ring: beide Küvetten 3 x 4 sind bis Di., 3. März 09:00 in Gebrauch"
    assert heard(recalled("3 of J101 moved from F3 to F9")) == "3 von J101 von F3 nach F9 verschoben"
    assert not isinstance(recalled("take it from a new flask"), Saying)
    assert not isinstance(recalled("Ask Runa about the wax"), Saying)
