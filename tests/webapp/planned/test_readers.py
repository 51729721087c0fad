"""Two people read the same shop in different units at the same time."""

from __future__ import annotations

import asyncio
import html
import re
from collections.abc import AsyncIterator
from dataclasses import replace

import httpx
import pytest
from fastapi import FastAPI

from domain.safety.gates import GATES
from domain.shop.flask import FlaskSize
from domain.units import Length, Mass
from webapp.actions.gates import stand_all
from webapp.actions.planning import load_desk
from webapp.settings import Settings
from webapp.store import charges, nouns, plans
from webapp.store import ways as store
from webapp.store.engine import Database
from webapp.ways import CUSTOMARY, METRIC, Metal, within

ORIGIN = "http://localhost:8765"
PASSWORD = "molten and bright"
OUNCES = replace(CUSTOMARY, metal=Metal.OZT)


@pytest.fixture
def settings(settings: Settings) -> Settings:
    return replace(settings, sign_in=True)


def browser(app: FastAPI) -> httpx.AsyncClient:
    transport = httpx.ASGITransport(app=app, raise_app_exceptions=False)
    return httpx.AsyncClient(transport=transport, base_url=ORIGIN, headers={"Origin": ORIGIN})


@pytest.fixture
async def ida(app: FastAPI) -> AsyncIterator[httpx.AsyncClient]:
    """The first owner, who reads as the shop does."""
    async with browser(app) as client:
        typed = {"code": app.state.first_code, "name": "Ida", "password": PASSWORD}
        assert (await client.post("/first-owner", data=typed)).status_code == 303
        yield client


@pytest.fixture
async def una(app: FastAPI, ida: httpx.AsyncClient) -> AsyncIterator[httpx.AsyncClient]:
    """A manager who reads U.S. customary units."""
    made = await ida.post("/people", data={"name": "Una", "role": "manager", "password": PASSWORD})
    assert made.status_code == 303, made.text
    async with browser(app) as client:
        assert (await client.post("/sign-in", data={"name": "Una", "password": PASSWORD})).status_code == 303
        assert (await client.post("/who/units", data={"all": "customary"})).status_code == 303
        yield client


@pytest.fixture
def flask(db: Database) -> str:
    with db.read() as session:
        stored = plans.current_plan(session)
        assert stored is not None
        return stored.plan.flasks[0].id


def words(page: str) -> str:
    """As it is read, without what the names of flask sizes and the sources of figures say."""
    page = re.sub(r'<small class="source">.*?</small>', "", page)
    page = re.sub(r"\(\d+ × \d+ mm\)", "", page)
    return re.sub(r"<[^>]+>", " ", html.unescape(page)).replace("\N{NARROW NO-BREAK SPACE}", " ").replace("\N{NO-BREAK SPACE}", " ")


METRIC_WORDS = re.compile(r"\d (?:g|mm|°C|kg|cm³|ml)\b(?! an hour|/cm³)")
CUSTOMARY_WORDS = re.compile(r"\d (?:dwt|lb|°F|in³|am|pm)\b")


async def test_each_reads_a_flask_in_their_own_units_at_the_same_time(
    ida: httpx.AsyncClient, una: httpx.AsyncClient, flask: str
) -> None:
    pages = (f"/flask/{flask}", f"/print/flask/{flask}/ticket", f"/print/flask/{flask}/charge", "/today", "/metal", "/week")
    for address in pages:
        hers, theirs, again = await asyncio.gather(ida.get(address), una.get(address), ida.get(address))
        assert hers.status_code == theirs.status_code == 200, address
        assert METRIC_WORDS.search(words(hers.text)), address
        assert CUSTOMARY_WORDS.findall(words(hers.text)) == [], address
        assert CUSTOMARY_WORDS.findall(words(again.text)) == [], address
        assert CUSTOMARY_WORDS.search(words(theirs.text)), address
        assert METRIC_WORDS.findall(words(theirs.text)) == [], address


async def test_a_size_sent_as_shown_stays_and_an_entry_in_any_unit_is_right(una: httpx.AsyncClient, db: Database) -> None:
    def sizes() -> dict[str, FlaskSize]:
        with db.read() as session:
            return {size.id: size for size in nouns.all_of(session, FlaskSize)}

    before = sizes()
    for key in before:
        shown = _form((await una.get(f"/shop/flask-sizes/{key}")).text, f"/shop/flask-sizes/{key}")
        assert shown["inner_diameter"].endswith(" in")
        assert (await una.post(f"/shop/flask-sizes/{key}", data=shown)).status_code == 303
    assert sizes() == before
    key = next(iter(before))
    shown = _form((await una.get(f"/shop/flask-sizes/{key}")).text, f"/shop/flask-sizes/{key}")
    changed = {**shown, "inner_diameter": "3 1/2", "height": "150 mm", "wall": "1/8 in"}
    assert (await una.post(f"/shop/flask-sizes/{key}", data=changed)).status_code == 303
    now = sizes()[key]
    assert (now.inner_diameter, now.height, now.wall) == (Length(88_900), Length.mm(150), Length(3_175))


def _form(page: str, action: str) -> dict[str, str]:
    """What a browser would send of the form that saves."""
    form = page.partition(f'method="post" action="{action}" data-busy')[2].partition("</form>")[0]
    found: dict[str, str] = {}
    for tag in re.findall(r"<input[^>]*>", form):
        parts = dict(re.findall(r'([\w-]+)="([^"]*)"', tag))
        if parts.get("type") != "checkbox" or " checked" in tag:
            found[parts["name"]] = html.unescape(parts.get("value", ""))
    return found


async def test_a_number_without_a_unit_is_in_the_unit_that_stood_beside_it(
    una: httpx.AsyncClient, db: Database, settings: Settings
) -> None:
    """Even where whoever typed it chose others meanwhile, or somebody else took over the tablet."""
    with db.read() as session:
        desk = load_desk(session, settings)
        flask = next(f for f in desk.open_plan.flasks if desk.problem.on_shelf(f))
    await una.post("/who/units", data={"metal": "ozt"})
    page = (await una.get(f"/flask/{flask.id}/tree")).text
    assert "Tree on its base, in ozt" in page
    assert f'name="ways" value="{OUNCES.said}"' in page
    expected = re.search(r"planned: ([\d,.]+).ozt", words(page))
    assert expected
    typed = {"gross": expected[1].replace(",", ""), "base": "", "ways": METRIC.said, "key": "w1"}
    assert (await una.post(f"/flask/{flask.id}/tree", data=typed)).status_code == 422, "as grams it is far too light"
    typed |= {"ways": OUNCES.said}
    await una.post("/who/units", data={"all": "metric"})
    done = await una.post(f"/flask/{flask.id}/tree", data=typed)
    assert done.status_code == 303, done.text
    with db.read() as session:
        weighed = charges.trees_of(session, flask.id)[0]
    assert weighed.gross == Mass.of(typed["gross"], "ozt")


async def test_what_is_kept_compared_or_exported_does_not_depend_on_the_reader(
    ida: httpx.AsyncClient, una: httpx.AsyncClient, db: Database, settings: Settings
) -> None:
    with db.read() as session:
        desk = load_desk(session, settings)
        wanted = [(f.id, pause) for f in desk.open_plan.flasks for pauses in GATES.values() for pause in pauses]
        plain = {pair: gate.made_of for pair, (gate, _) in stand_all(session, desk, wanted).items()}
        with within(CUSTOMARY):
            assert {pair: gate.made_of for pair, (gate, _) in stand_all(session, desk, wanted).items()} == plain
    for address in (
        "/exchange/week.json",
        "/exchange/plan.json",
        "/metal/order.csv",
        "/jobs/list.csv",
        "/week/flasks.csv",
        "/metal/consumables/list.csv",
    ):
        hers, theirs = await ida.get(address), await una.get(address)
        assert hers.status_code == 200, address
        assert hers.content == theirs.content, address


async def test_the_shops_choice_counts_for_whoever_has_none(
    ida: httpx.AsyncClient, una: httpx.AsyncClient, db: Database, flask: str
) -> None:
    saved = await ida.post("/setup/units", data={"metal": "ozt", "degrees": "°F", "hours": "2:05 pm", "metal2": "x"})
    assert saved.headers["location"] == "/setup/rules"
    page = words((await ida.get(f"/flask/{flask}")).text)
    assert re.search(r"\d ozt\b", page)
    assert re.search(r"\d °F", page)
    assert re.search(r"\d mm\b", page)
    assert not re.search(r"\d ozt\b", words((await una.get(f"/flask/{flask}")).text))
    assert (await una.post("/who/units", data={"all": "shop"})).status_code == 303
    assert re.search(r"\d ozt\b", words((await una.get(f"/flask/{flask}")).text))
    with db.read() as session:
        assert store.own(session, None) is not None
    part = (await una.get("/who/units/example", params={"metal": "dwt", "numbers": "1.234,5"})).text
    assert "793,84 dwt" in words(part)
