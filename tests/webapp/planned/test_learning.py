"""What the record says of the demo's invented past: suggestions are taken over into the shop's values, or kept out."""

from __future__ import annotations

import re
from html import unescape

import httpx

from domain.floor.learning import Learned
from domain.shop.casting import CastingMachine
from domain.sources import Mark
from webapp.actions.learning import read_record
from webapp.exchange.documents import CastingMachineDocument
from webapp.forms import typed_from
from webapp.store import nouns
from webapp.store.books_check import broken
from webapp.store.engine import Database


def machine(db: Database) -> CastingMachine:
    with db.read() as session:
        found = nouns.find(session, CastingMachine, "spring-torch")
    assert found is not None
    return found


def mark(page: str, what: str) -> str:
    return next(unescape(m) for m in re.findall(r'name="mark" value="([^"]*)"', page) if m.startswith(what))


async def test_the_page_shows_the_shops_own_figures_with_their_samples(client: httpx.AsyncClient, db: Database) -> None:
    page = (await client.get("/learning")).text
    assert "What the record says" in page
    assert re.search(r"from one pour to the next it takes 15\smin \(12 casts measured", page)
    assert re.search(r"The plan assumes 12\smin\. Use 15\smin\?", page)
    assert "too few to say" in page
    assert "/learning" in (await client.get("/jobs")).text
    with db.read() as session:
        assert broken(session) == ()


async def test_taking_a_suggestion_over_changes_the_shop_and_keeps_what_was_before(client: httpx.AsyncClient, db: Database) -> None:
    asked = mark((await client.get("/learning")).text, "MINUTES")
    for _ in range(2):
        answer = await client.post("/learning", data={"mark": asked, "answer": "yes", "note": "new crucible", "key": "k"})
        assert answer.status_code == 303
    after = machine(db)
    assert after.minutes_per_cast == 15
    assert after.sources["minutes_per_cast"].mark is Mark.SHOP
    page = (await client.get("/learning")).text
    assert "new crucible" in page
    assert re.search(r"12\smin became 15\smin", page)
    assert not re.search(r'value="MINUTES', page)
    stale = await client.post("/learning", data={"mark": asked, "answer": "yes", "key": "other"})
    assert stale.status_code == 422
    assert "the record has moved on" in stale.text


async def test_a_refusal_is_remembered_until_the_plan_is_changed(client: httpx.AsyncClient, db: Database) -> None:
    asked = mark((await client.get("/learning")).text, "MINUTES")
    assert (await client.post("/learning", data={"mark": asked, "answer": "no", "key": "k"})).status_code == 303
    assert machine(db).minutes_per_cast == 12
    page = (await client.get("/learning")).text
    assert not re.search(r'value="MINUTES', page)
    assert re.search(r"12\smin kept, not 15\smin", page)
    with db.read() as session:
        stored = nouns.find_stored(session, CastingMachine, "spring-torch")
    assert stored is not None
    sent = {**typed_from(CastingMachineDocument, stored.value), "minutes_per_cast": "11", "version": str(stored.version)}
    answer = await client.post("/shop/machines/spring-torch", data=sent)
    assert answer.status_code == 303, answer.text
    assert re.search(r'value="MINUTES', (await client.get("/learning")).text)


async def test_the_demos_past_is_told_as_last_times(client: httpx.AsyncClient, db: Database) -> None:
    with db.read() as session:
        record = read_record(session)
    assert len(record.facts) == 40
    assert all(f.charged for f in record.facts)
    assert {one.what for one in record.suggestions} == {Learned.MINUTES, Learned.BUTTON}
    assert "misrun" in (await client.get("/learning")).text
    losses = (await client.get("/metal/loss")).text
    assert "Silicon bronze" in losses
