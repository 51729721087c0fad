"""The shop's pages: everything can be edited, and nothing typed is lost."""

from __future__ import annotations

import re

import httpx
import pytest
from fastapi import FastAPI

from domain.shop.burnout import BurnoutProgram, Outage
from domain.shop.flask import FlaskSize
from domain.shop.lots import Lot, Powder
from domain.shop.shop import ShopRules
from domain.sources import Mark
from domain.units import Length, Mass, Temperature
from webapp.shop_nouns import NOUNS
from webapp.store import nouns
from webapp.store.engine import Database

SLUGS = [noun.slug for noun in NOUNS if not noun.single]


def form_values(html: str, action: str) -> dict[str, str]:
    """What a browser would send of the form with this action if nothing were changed."""
    form = re.search(rf'<form[^>]*action="{re.escape(action)}"[^>]*>(.*?)</form>', html, re.DOTALL)
    assert form is not None, action
    values: dict[str, str] = {}
    for tag in re.findall(r"<input[^>]*>", form[1]):
        parts = dict(re.findall(r'(\w+)="([^"]*)"', tag))
        if parts["type"] != "checkbox" or " checked" in tag:
            values[parts["name"]] = parts["value"]
    for name, inner in re.findall(r'<select[^>]*name="([^"]*)"[^>]*>(.*?)</select>', form[1], re.DOTALL):
        chosen = re.search(r'value="([^"]*)" selected', inner) or re.search(r'value="([^"]*)"', inner)
        values[name] = chosen[1] if chosen else ""
    for name, inner in re.findall(r'<textarea[^>]*name="([^"]*)"[^>]*>(.*?)</textarea>', form[1], re.DOTALL):
        values[name] = inner
    return values


@pytest.fixture
def db(app: FastAPI) -> Database:
    return app.state.db  # type: ignore[no-any-return]


async def test_the_overview_leads_to_every_noun(client: httpx.AsyncClient) -> None:
    html = (await client.get("/shop")).text
    for noun in NOUNS:
        assert f'href="/shop/{noun.slug}"' in html


@pytest.mark.parametrize("slug", SLUGS)
async def test_every_list_and_every_empty_form_opens(client: httpx.AsyncClient, slug: str) -> None:
    assert (await client.get(f"/shop/{slug}")).status_code == 200
    assert (await client.get(f"/shop/{slug}/new")).status_code == 200


async def test_an_empty_list_says_what_it_is_empty_of(client: httpx.AsyncClient) -> None:
    assert "There is no metal lot in use." in (await client.get("/shop/lots")).text


@pytest.mark.parametrize("noun", [noun for noun in NOUNS if noun.slug not in {"lots", "closures"}], ids=lambda noun: noun.slug)
async def test_saving_a_form_as_it_was_shown_changes_nothing(client: httpx.AsyncClient, db: Database, noun: object) -> None:
    with db.read() as session:
        before = nouns.all_stored(session, noun.kind)  # type: ignore[attr-defined]
    for stored in before:
        address = f"/shop/{noun.slug}/{stored.key}"  # type: ignore[attr-defined]
        page = await client.get(address)
        answer = await client.post(address, data=form_values(page.text, address))
        assert answer.status_code == 303, (stored.key, re.findall(r'class="error"[^>]*>([^<]*)', answer.text))
    with db.read() as session:
        assert nouns.all_stored(session, noun.kind) == before  # type: ignore[attr-defined]


async def test_a_length_may_be_typed_in_inches_and_is_then_the_shops_own(client: httpx.AsyncClient, db: Database) -> None:
    address = "/shop/flask-sizes/2x2.5"
    values = form_values((await client.get(address)).text, address)
    assert values["height"] == "63.5 mm"
    answer = await client.post(address, data={**values, "height": '3 1/2"'})
    assert answer.status_code == 303
    with db.read() as session:
        size = nouns.find(session, FlaskSize, "2x2.5")
    assert size is not None
    assert size.height == Length.of("3.5", "in")
    assert size.sources["height"].mark is Mark.SHOP
    assert size.sources["inner_diameter"].mark is Mark.TRADE_PAGE


async def test_a_bad_field_keeps_everything_that_was_typed(client: httpx.AsyncClient) -> None:
    address = "/shop/flask-sizes/2x2.5"
    values = form_values((await client.get(address)).text, address)
    answer = await client.post(address, data={**values, "name": "Little <one>", "wall": "thin"})
    assert answer.status_code == 422
    assert 'value="Little &lt;one&gt;"' in answer.text
    assert 'value="thin"' in answer.text
    assert re.search(r'id="wall-error">[^<]*number', answer.text)


async def test_the_second_editor_is_told_and_may_save_again(client: httpx.AsyncClient) -> None:
    address = "/shop/kilns/bench-kiln"
    first = form_values((await client.get(address)).text, address)
    second = dict(first)
    assert (await client.post(address, data={**first, "name": "First"})).status_code == 303
    answer = await client.post(address, data={**second, "name": "Second"})
    assert answer.status_code == 409
    assert "Somebody else saved a newer version" in answer.text
    again = form_values(answer.text, address)
    assert again["name"] == "Second"
    assert (await client.post(address, data=again)).status_code == 303


async def test_a_program_gets_its_segments_from_rows(client: httpx.AsyncClient, db: Database) -> None:
    rows = {
        "name": "Overnight",
        "bonds.gypsum": "on",
        "segments.0.target": "300 F",
        "segments.0.ramp_minutes": "1 h",
        "segments.0.hold_minutes": "2:00",
        "segments.0.purpose": "dewax",
        "segments.2.target": "732",
        "segments.2.ramp_minutes": "90 min",
        "segments.2.hold_minutes": "3 h",
        "segments.2.purpose": "burn",
    }
    assert (await client.post("/shop/programs", data=rows)).status_code == 303
    with db.read() as session:
        program = nouns.find(session, BurnoutProgram, "overnight")
    assert program is not None
    assert [(s.target, s.ramp_minutes, s.hold_minutes) for s in program.segments] == [
        (Temperature.f(300), 60, 120),
        (Temperature.c(732), 90, 180),
    ]


async def test_a_program_without_segments_is_refused_beside_its_rows(client: httpx.AsyncClient) -> None:
    answer = await client.post("/shop/programs", data={"name": "Nothing"})
    assert answer.status_code == 422
    assert 'id="segments-error">needs at least one row' in answer.text


async def test_values_that_contradict_each_other_are_refused_in_words(client: httpx.AsyncClient) -> None:
    answer = await client.post("/shop/closures", data={"first": "2026-04-10", "last": "2026-04-01"})
    assert answer.status_code == 422
    assert "do not go together" in answer.text


async def test_a_closure_can_be_added_and_put_out_of_use(client: httpx.AsyncClient, db: Database) -> None:
    await client.post("/shop/closures", data={"first": "2026-04-03", "last": "2026-04-06", "reason": "Easter"})
    with db.read() as session:
        (stored,) = nouns.all_stored(session, Outage)
    assert stored.value == Outage(first="2026-04-03", last="2026-04-06", reason="Easter")
    assert (await client.post(f"/shop/closures/{stored.key}/archive")).status_code == 303
    with db.read() as session:
        assert nouns.all_stored(session, Outage) == ()


async def test_what_is_still_needed_cannot_be_put_out_of_use(client: httpx.AsyncClient) -> None:
    answer = await client.post("/shop/investments/gypsum/archive")
    assert answer.status_code == 422
    assert "still needed by the powder of gypsum" in answer.text


async def test_a_lot_is_received_drawn_down_and_counted(client: httpx.AsyncClient, db: Database) -> None:
    lot = {
        "name": "Fine silver grain",
        "kind": "fine metal",
        "composition.0.key": "Ag",
        "composition.0.value": "100",
        "mass": "10 ozt",
        "melts": "0",
        "cost": "0.95",
    }
    assert (await client.post("/shop/lots", data=lot)).status_code == 303
    address = "/shop/lots/fine-silver-grain"
    steps = (("receipt", "100 g", 303), ("issue", "500 g", 422), ("issue", "11.035 g", 303), ("count", "400 g", 303))
    for kind, mass, status in steps:
        assert (await client.post(f"{address}/move", data={"kind": kind, "mass": mass})).status_code == status
    with db.read() as session:
        found = nouns.find(session, Lot, "fine-silver-grain")
    assert found is not None
    assert found.mass == Mass.g(400)
    page = (await client.get(address)).text
    assert "count" in page
    assert "Fine silver grain" in page


async def test_a_repeated_movement_counts_once(client: httpx.AsyncClient, db: Database) -> None:
    for _ in range(2):
        await client.post("/shop/powders/gypsum/move", data={"kind": "receipt", "mass": "10 kg", "key": "once"})
    with db.read() as session:
        powder = nouns.find(session, Powder, "gypsum")
    assert powder is not None
    assert powder.mass == Mass.of(10, "kg")


async def test_a_composition_that_is_not_whole_is_refused(client: httpx.AsyncClient) -> None:
    lot = {
        "name": "x",
        "kind": "recycled",
        "composition.0.key": "Ag",
        "composition.0.value": "92.5 %",
        "mass": "1 g",
        "melts": "1",
        "cost": "0",
    }
    answer = await client.post("/shop/lots", data=lot)
    assert answer.status_code == 422
    assert "add up to 92.5 %" in answer.text


async def test_the_rules_are_one_page(client: httpx.AsyncClient, db: Database) -> None:
    answer = await client.get("/shop/rules")
    assert answer.headers["location"] == "/shop/rules/1"
    values = form_values((await client.get("/shop/rules/1")).text, "/shop/rules/1")
    answer = await client.post("/shop/rules/1", data={**values, "timezone": "Nowhere/At all"})
    assert answer.status_code == 422
    await client.post("/shop/rules/1", data={**values, "overtime_minutes": "3 h"})
    with db.read() as session:
        rules = nouns.find(session, ShopRules, 1)
    assert rules is not None
    assert rules.overtime_minutes == 180


async def test_the_checklist_points_can_be_read_with_their_sources(client: httpx.AsyncClient) -> None:
    html = (await client.get("/shop/checklists")).text
    assert html.index("Before investing") < html.index("Before the pour") < html.index("Before quench")
    assert "29 CFR 1910" in html


async def test_an_unknown_noun_or_key_is_not_found(client: httpx.AsyncClient) -> None:
    for address in ("/shop/spoons", "/shop/kilns/none", "/shop/closures/x", "/shop/closures/99999999999999999999"):
        assert (await client.get(address)).status_code == 404
