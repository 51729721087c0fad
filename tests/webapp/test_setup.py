"""A new shop's set-up: few fields, the same writes as the shop's pages, nothing half saved."""

from __future__ import annotations

import html
import re

import httpx
import pytest
from fastapi import FastAPI

from domain.shop.alloy import Alloy
from domain.shop.burnout import Kiln
from domain.shop.flask import FlaskSize
from domain.shop.lots import Powder
from domain.sources import Mark
from domain.units import Length, Mass
from webapp.setup_steps import STEPS
from webapp.store import nouns, setup
from webapp.store.engine import Database


@pytest.fixture
def db(app: FastAPI) -> Database:
    return app.state.db  # type: ignore[no-any-return]


async def shown(client: httpx.AsyncClient, slug: str) -> dict[str, str]:
    """What a browser would send of the step if nothing were changed."""
    page = (await client.get(f"/setup/{slug}")).text
    form = page.partition('<form id="step"')[2].partition("</form>")[0]
    values: dict[str, str] = {}
    for tag in re.findall(r"<input[^>]*>", form):
        parts = dict(re.findall(r'([\w-]+)="([^"]*)"', tag))
        if parts["type"] != "checkbox" or " checked" in tag:
            values[parts["name"]] = html.unescape(parts["value"])
    for name, inner in re.findall(r'<select[^>]*name="([^"]*)"[^>]*>(.*?)</select>', form, re.DOTALL):
        chosen = re.search(r'value="([^"]*)" selected', inner)
        values[name] = chosen[1] if chosen else ""
    return values


def number_of(values: dict[str, str], key: str) -> str:
    return next(name.removesuffix(".id") for name, value in values.items() if name.endswith(".id") and value == key)


async def test_an_empty_shop_is_led_to_its_set_up(client: httpx.AsyncClient) -> None:
    for address in ("/week", "/today", "/shop/kilns"):
        assert 'href="/setup"' in (await client.get(address)).text
    assert "0 of 9 steps" in (await client.get("/setup")).text


async def test_every_step_saved_as_shown_changes_nothing_and_leads_on(client: httpx.AsyncClient, db: Database) -> None:
    kinds = [step.noun.kind for step in STEPS if step.slug != "units"]
    with db.read() as session:
        before = [nouns.all_stored(session, kind) for kind in kinds]
    address = f"/setup/{STEPS[0].slug}"
    for step in STEPS:
        assert address == f"/setup/{step.slug}"
        answer = await client.post(address, data=await shown(client, step.slug))
        assert answer.status_code == 303, re.findall(r'class="error"[^>]*>([^<]*)', answer.text)
        address = answer.headers["location"]
    assert address == "/setup"
    with db.read() as session:
        assert [nouns.all_stored(session, kind) for kind in kinds] == before
        assert set(setup.gone_through(session).values()) == {setup.SAVED}
    assert "9 of 9 steps" in (await client.get("/setup")).text


async def test_a_kiln_measured_in_inches_is_the_shops_own_from_then_on(client: httpx.AsyncClient, db: Database) -> None:
    values = await shown(client, "kilns")
    key = values["0.id"]
    answer = await client.post("/setup/kilns", data={**values, "0.width": "9 1/2 in", "0.top_temperature": "1950F"})
    assert answer.status_code == 303
    with db.read() as session:
        kiln = nouns.find(session, Kiln, key)
    assert kiln is not None
    assert kiln.width == Length.of("9.5", "in")
    assert kiln.sources["width"].mark is Mark.SHOP
    assert kiln.sources["depth"].mark is not Mark.SHOP


async def test_one_bad_field_saves_nothing_of_the_step(client: httpx.AsyncClient, db: Database) -> None:
    values = await shown(client, "flask-sizes")
    answer = await client.post("/setup/flask-sizes", data={**values, "0.owned": "7", "1.owned": "a few"})
    assert answer.status_code == 422
    assert 'id="1.owned-error"' in answer.text
    assert 'value="7"' in answer.text
    assert "a few" in answer.text
    with db.read() as session:
        sizes = nouns.all_of(session, FlaskSize)
        assert str(sizes[0].owned) == values["0.owned"]
        assert setup.gone_through(session) == {}


async def test_alloys_that_are_not_cast_leave_the_lists_and_come_back(client: httpx.AsyncClient, db: Database) -> None:
    values = await shown(client, "alloys")
    key = values["0.id"]
    without = {name: value for name, value in values.items() if name != "0.use"}
    assert (await client.post("/setup/alloys", data=without)).status_code == 303
    with db.read() as session:
        assert key not in {alloy.id for alloy in nouns.all_of(session, Alloy)}
    again = await shown(client, "alloys")
    await client.post("/setup/alloys", data={**again, f"{number_of(again, key)}.use": "on"})
    with db.read() as session:
        assert key in {alloy.id for alloy in nouns.all_of(session, Alloy)}


async def test_powder_is_counted_and_the_count_stays_in_its_ledger(client: httpx.AsyncClient, db: Database) -> None:
    values = await shown(client, "powders")
    assert (await client.post("/setup/powders", data={**values, "0.mass": "50 lb"})).status_code == 303
    with db.read() as session:
        powder = nouns.find(session, Powder, values["0.id"])
    assert powder is not None
    assert powder.mass == Mass.of(50, "lb")
    assert "counted at the set-up" in (await client.get(f"/shop/powders/{values['0.id']}")).text


async def test_who_saves_second_is_told(client: httpx.AsyncClient) -> None:
    values = await shown(client, "kilns")
    await client.post("/setup/kilns", data={**values, "0.width": "300 mm"})
    answer = await client.post("/setup/kilns", data={**values, "0.width": "310 mm"})
    assert answer.status_code == 422
    assert "Somebody else saved a newer version" in answer.text


async def test_a_skipped_step_is_shown_as_skipped(client: httpx.AsyncClient) -> None:
    answer = await client.post("/setup/rules/skip")
    assert answer.headers["location"] == "/setup/people"
    assert "skipped" in (await client.get("/setup")).text
    assert (await client.get("/setup/nothing")).status_code == 404
