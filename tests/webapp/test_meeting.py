"""Two people edit the same thing: the second is shown what the first changed and loses nothing that was typed."""

from __future__ import annotations

import re
from html import unescape

import httpx
import pytest

from domain.shop.burnout import Kiln
from domain.shop.jobs import Job
from webapp.forms import typed_from
from webapp.routes.shop import NOUNS
from webapp.shop_nouns import BY_SLUG
from webapp.store import nouns
from webapp.store.engine import Database


def opened(page: str) -> dict[str, str]:
    """The hidden fields of the form that saves."""
    form = page.split('data-busy="Saving…"', 1)[1]
    return {name: unescape(re.search(rf'name="{name}" value="([^"]*)"', form)[1]) for name in ("version", "opened")}  # type: ignore[index]


def met(page: str) -> dict[str, tuple[str, ...]]:
    """By field, the cells of the table of what somebody else changed: opened, theirs, in the form, whose."""
    rows = re.findall(r'<tr><th scope="row">([^<]*)</th>(.*?)</tr>', page.split("<caption>What somebody else changed", 1)[1], re.S)
    return {
        unescape(label): tuple(unescape(t).strip() for t in re.findall(r">([^<>]+)<", cells) if t.strip()) for label, cells in rows
    }


async def test_what_was_typed_stays_and_what_was_left_alone_shows_theirs(client: httpx.AsyncClient, db: Database) -> None:
    with db.read() as session:
        kiln = nouns.all_stored(session, Kiln)[0]
    texts, address = typed_from(BY_SLUG["kilns"].document, kiln.value), f"/shop/kilns/{kiln.key}"
    page = (await client.get(address)).text
    first = {**texts, **opened(page), "name": "Old kiln", "gap": "20 mm", "unattended": "on"}
    second = {**texts, **opened(page), "name": "Kiln by the door", "cost": "7"}
    assert (await client.post(address, data=first)).status_code == 303
    answer = await client.post(address, data=second)
    assert answer.status_code == 409
    told = met(answer.text)
    assert told["Name"] == (texts["name"], "Old kiln", "Kiln by the door", "yours")
    assert told["Gap"] == (texts["gap"], "20 mm", "20 mm", "theirs")
    assert told["May run unattended"] == ("no", "yes", "yes", "theirs")
    assert set(told) == {"Name", "Gap", "May run unattended"}
    assert 'value="Kiln by the door"' in answer.text
    assert 'name="gap" value="20 mm"' in answer.text.replace('id="gap" ', "").replace(' aria-describedby="gap-hint"', "")
    again = {**second, **opened(answer.text), "gap": "20 mm", "unattended": "on"}
    assert (await client.post(address, data=again)).status_code == 303
    with db.read() as session:
        saved = nouns.find(session, Kiln, kiln.key)
    assert saved is not None
    assert (saved.name, str(saved.gap.decimal("mm", 0)), saved.cost, saved.unattended) == ("Kiln by the door", "20", 7, True)


async def test_a_third_who_saves_while_the_second_looks_is_told_too(client: httpx.AsyncClient, db: Database) -> None:
    with db.read() as session:
        kiln = nouns.all_stored(session, Kiln)[0]
    texts, address = typed_from(BY_SLUG["kilns"].document, kiln.value), f"/shop/kilns/{kiln.key}"
    page = (await client.get(address)).text
    await client.post(address, data={**texts, **opened(page), "cost": "8"})
    second = await client.post(address, data={**texts, **opened(page), "name": "Mine"})
    await client.post(address, data={**texts, **opened((await client.get(address)).text), "cost": "9"})
    third = await client.post(address, data={**texts, **opened(second.text), "name": "Mine", "cost": "8"})
    assert third.status_code == 409
    assert met(third.text) == {"Cost": ("8", "9", "9", "theirs")}


@pytest.mark.parametrize("slug", [noun.slug for noun in NOUNS if noun.slug not in ("closures", "lots", "powders", "consumables")])
async def test_every_noun_of_the_shop_tells_the_second(client: httpx.AsyncClient, db: Database, slug: str) -> None:
    noun = BY_SLUG[slug]
    with db.read() as session:
        stored = nouns.all_stored(session, noun.kind)
    if not stored:
        return
    texts, address = typed_from(noun.document, stored[0].value), f"/shop/{slug}/{stored[0].key}"
    page = (await client.get(address)).text
    field, label = ("name", "Name") if "name" in texts else ("currency", "Currency")
    theirs = "USD" if field == "currency" else "Theirs"
    answer = await client.post(address, data={**texts, **opened(page), field: theirs})
    assert answer.status_code == 303, answer.text
    late = await client.post(address, data={**texts, **opened(page), field: "CHF" if field == "currency" else "Mine"})
    assert late.status_code == 409
    assert set(met(late.text)) == {label}


async def test_a_form_that_does_not_say_what_it_showed_keeps_all_that_was_typed(client: httpx.AsyncClient, db: Database) -> None:
    with db.read() as session:
        kiln = nouns.all_stored(session, Kiln)[0]
    texts, address = typed_from(BY_SLUG["kilns"].document, kiln.value), f"/shop/kilns/{kiln.key}"
    version = {"version": str(kiln.version)}
    await client.post(address, data={**texts, **version, "cost": "8"})
    for spoilt in ("", "[]", "{", '{"cost": 3}', "[" * 5000):
        late = await client.post(address, data={**texts, **version, "name": "Mine", "opened": spoilt})
        assert late.status_code == 409
        assert 'value="Mine"' in late.text
        assert "Cost" in met(late.text)


async def test_a_job_tells_the_second_too(client: httpx.AsyncClient, db: Database) -> None:
    job = {"item": "Ring", "customer": "A", "alloy": "silver-925", "section": "medium", "material": "injection-wax"}
    job |= {"quantity": "3", "pattern_mass": "0.4 g", "ready": "2026-03-02", "due": "2026-03-09", "weight": "1"}
    job |= {"size.width": "6 mm", "size.height": "20 mm", "size.reach": "15 mm", "id": "J9"}
    assert (await client.post("/jobs", data=job)).status_code == 303
    page = (await client.get("/jobs/J9")).text
    assert (await client.post("/jobs/J9", data={**job, **opened(page), "alloy": "silver-germanium"})).status_code == 303
    late = await client.post("/jobs/J9", data={**job, **opened(page), "quantity": "5"})
    assert late.status_code == 409
    assert met(late.text)["Alloy"][1:] == ("Silver 925 with germanium",) * 2 + ("theirs",)
    done = {**job, **opened(late.text), "quantity": "5", "alloy": "silver-germanium"}
    assert (await client.post("/jobs/J9", data=done)).status_code == 303
    with db.read() as session:
        saved = nouns.find(session, Job, "J9")
    assert saved is not None
    assert (saved.alloy, saved.quantity) == ("silver-germanium", 5)


async def test_a_point_of_a_checklist_tells_the_second_too(client: httpx.AsyncClient) -> None:
    address = "/shop/checklists/invest-tree"
    page = (await client.get(address)).text
    texts = {"text": "Tree on its base", "why": "", "reading": "none", "required": "on"}
    form = opened(page)
    assert (await client.post(address, data={**texts, **form})).status_code in (303, 422)
    ours = {**texts, **form, "text": "Tree stands"}
    late = await client.post(address, data=ours)
    assert late.status_code == 409
    assert met(late.text)["What is to be done"][1:] == ("Tree on its base", "Tree stands", "yours")


@pytest.fixture
async def lot(client: httpx.AsyncClient) -> str:
    """The address of a lot of silver that holds 100 g."""
    new = {"name": "Scrap", "kind": "fine metal", "composition.0.key": "Ag", "composition.0.value": "100", "cost": "1"}
    new |= {"mass": "100 g", "melts": "0"}
    answer = await client.post("/shop/lots", data=new)
    assert answer.status_code == 303, answer.text
    return "/shop/lots/scrap"


async def test_metal_that_moved_meanwhile_stops_nobody(client: httpx.AsyncClient, lot: str, db: Database) -> None:
    noun = BY_SLUG["lots"]
    with db.read() as session:
        texts = typed_from(noun.document, nouns.all_stored(session, noun.kind)[0].value)
    page = (await client.get(lot)).text
    assert (await client.post(f"{lot}/move", data={"kind": "issue", "mass": "30 g"})).status_code == 303
    late = await client.post(lot, data={**texts, **opened(page), "name": "Clean scrap"})
    assert late.status_code == 303, late.text
    with db.read() as session:
        saved = nouns.all_stored(session, noun.kind)[0].value
    assert (saved.name, saved.mass.decimal("g", 0)) == ("Clean scrap", 70)


async def test_metal_that_moved_hides_no_edit_of_somebody_else(client: httpx.AsyncClient, lot: str, db: Database) -> None:
    noun = BY_SLUG["lots"]
    with db.read() as session:
        texts = typed_from(noun.document, nouns.all_stored(session, noun.kind)[0].value)
    page = (await client.get(lot)).text
    assert (await client.post(f"{lot}/move", data={"kind": "issue", "mass": "30 g"})).status_code == 303
    theirs = {**texts, **opened((await client.get(lot)).text), "name": "Theirs"}
    assert (await client.post(lot, data=theirs)).status_code == 303
    late = await client.post(lot, data={**texts, **opened(page), "name": "Mine"})
    assert late.status_code == 409
    assert set(met(late.text)) == {"Name"}
