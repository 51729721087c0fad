"""A checklist holds: nothing goes on while a required point is open, and every tick is somebody's, of words that were read."""

from __future__ import annotations

import html
import json
import re
from collections.abc import AsyncIterator, Callable
from dataclasses import replace
from pathlib import Path

import httpx
import pytest
from databases import NewDatabase, rows_of
from fastapi import FastAPI

from domain.safety.gates import GATES
from domain.safety.own_points import change_of
from domain.safety.points import Pause, Reading
from domain.units import Mass, Temperature, TemperatureRange
from webapp.actions.gates import gate_of, stand
from webapp.actions.planning import load_desk
from webapp.auth.roles import Role
from webapp.routes.doors import SESSION_COOKIE
from webapp.settings import Settings
from webapp.store import accounts, checklists, floor, ticks
from webapp.store.engine import Database

ORIGIN = "http://localhost:8765"


@pytest.fixture
def settings(
    new_database: NewDatabase,
    planned_demo: str,
    demo_settings: Callable[[str], Settings],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> Settings:
    """Nothing is ticked yet."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    return demo_settings(new_database(planned_demo))


@pytest.fixture
def flask(db: Database, settings: Settings) -> str:
    with db.read() as session:
        return min(load_desk(session, settings).open_plan.flasks, key=lambda f: f.invest_start).id


def form_of(page: str, action: str, point: str = "") -> dict[str, str]:
    """The hidden fields of a form on the page."""
    forms = re.findall(rf'<form[^>]*action="[^"]*{action}"[^>]*>(.*?)</form>', page, re.S)
    chosen = next(one for one in forms if not point or f'name="point" value="{point}"' in one)
    fields = dict(re.findall(r'<input type="hidden" name="([^"]+)" value="([^"]*)">', chosen))
    return {name: html.unescape(text) for name, text in fields.items()}


def people_of(page: str) -> list[str]:
    return re.findall(r"<option[^>]*>([^<]+)</option>", page.split('<select id="who-')[1].split("</select>")[0])


def reading_for(db: Database, settings: Settings, flask: str, pause: Pause, point: str) -> str:
    """Something that the point allows."""
    with db.read() as session:
        gate = gate_of(session, load_desk(session, settings), flask, pause)
    found = next(one for one in gate.points or () if one.id == point)
    if found.reading is Reading.NONE:
        return ""
    if isinstance(found.expected, Mass) and found.expected.base:
        return f"{found.expected.decimal('g', 2)} g"
    if isinstance(found.expected, TemperatureRange):
        return f"{found.expected.low.celsius()} °C"
    if isinstance(found.expected, Temperature):
        return f"{found.expected.celsius()} °C"
    low = found.not_below or found.not_above
    return f"{low.celsius()} °C" if low else {"mass": "12 g", "temperature": "22 °C", "pressure": "-80 kPa"}[found.reading]


async def work(client: httpx.AsyncClient, db: Database, settings: Settings, flask: str, pause: Pause, leave: int = 0) -> None:
    """Ticks the points of a pause as on the screen, but the last so many."""
    address = f"/flask/{flask}/check/{pause.name.lower()}"
    with db.read() as session:
        points = gate_of(session, load_desk(session, settings), flask, pause).points or ()
    for point in points[: len(points) - leave]:
        form = form_of((await client.get(f"{address}?at={point.id}")).text, "/tick", point.id)
        person = people_of((await client.get(f"{address}?at={point.id}")).text)[0]
        reading = reading_for(db, settings, flask, pause, point.id)
        answer = await client.post(f"{address}/tick", data={**form, "who": person, "reading": reading})
        assert answer.status_code == 303, answer.text


def stages(db: Database, flask: str) -> list[str]:
    with db.read() as session:
        return [str(stage) for stage in floor.stages_of(session, flask)]


async def test_an_open_point_holds_the_stage_back_whichever_way_it_is_sent_and_nothing_is_written(
    client: httpx.AsyncClient, db: Database, settings: Settings, flask: str
) -> None:
    before = rows_of(settings.database_url)
    ways = [
        ("/today/done", {"flasks": flask, "stage": "invested"}),
        (f"/flask/{flask}/stage", {"stage": "invested"}),
        (
            f"/flask/{flask}/floor/invested",
            {"powder": "600 g", "liquid": "240 g", "water_temperature": "22 °C", "vacuum_minutes": "2"},
        ),
    ]
    for number, (address, fields) in enumerate(ways):
        answer = await client.post(address, data={**fields, "key": f"k{number}"})
        sure = re.search(r'name="sure" value="([^"]*)"', answer.text)
        if sure:
            answer = await client.post(address, data={**fields, "key": f"k{number}", "sure": html.unescape(sure[1])})
        assert answer.status_code == 409, address
        assert "cannot be marked invested yet" in answer.text
        assert f'href="/flask/{flask}/check/invest"' in answer.text
    assert rows_of(settings.database_url) == before
    await work(client, db, settings, flask, Pause.INVEST)
    answer = await client.post("/today/done", data={"flasks": flask, "stage": "invested", "key": "k"})
    assert (answer.status_code, stages(db, flask)) == (303, ["invested"])


async def test_nothing_is_ticked_beforehand_and_after_a_break_the_first_open_point_is_in_large_type(
    client: httpx.AsyncClient, db: Database, settings: Settings, flask: str
) -> None:
    address = f"/flask/{flask}/check/invest"
    fresh = (await client.get(address)).text
    assert "✓ ticked" not in fresh
    assert "checked" not in fresh
    with db.read() as session:
        points = gate_of(session, load_desk(session, settings), flask, Pause.INVEST).points or ()
    assert len(points) <= 9
    await work(client, db, settings, flask, Pause.INVEST, leave=len(points) - 1)
    page = (await client.get(address)).text
    assert f'<h2 class="check-text">2. {html.escape(points[1].text)}' in page.replace("&#39;", "&#x27;")
    assert f"1 of {len(points)} ticked" in page


async def test_a_reading_that_cannot_be_is_told_beside_its_field(client: httpx.AsyncClient, db: Database, flask: str) -> None:
    address = f"/flask/{flask}/check/invest"
    page = (await client.get(f"{address}?at=invest-tree")).text
    form, who = form_of(page, "/tick", "invest-tree"), people_of(page)[0]
    for typed, says in (("", "write down what you read"), ("a lot", "a lot"), ("0 g", "weigh it")):
        answer = await client.post(f"{address}/tick", data={**form, "who": who, "reading": typed})
        assert answer.status_code == 422
        error = re.search(r'class="error" id="reading-\d-error">([^<]*)<', answer.text)
        assert error
        assert says in html.unescape(error[1])
    nobody = await client.post(f"{address}/tick", data={**form, "who": "A stranger", "reading": "12 g"})
    assert (nobody.status_code, "choose who ticks" in nobody.text) == (422, True)
    with db.read() as session:
        assert ticks.rows(session, [flask]) == ()


async def test_a_tick_of_words_or_of_a_flask_that_changed_since_is_refused_with_what_changed(
    client: httpx.AsyncClient, db: Database, flask: str
) -> None:
    address = f"/flask/{flask}/check/invest"
    page = (await client.get(address)).text
    form, who = form_of(page, "/tick", "invest-number"), people_of(page)[0]
    with db.write() as session:
        change = change_of("invest-number", ())
        assert change is not None
        checklists.save(session, replace(change, text="Read it aloud."), 0)
    answer = await client.post(f"{address}/tick", data={**form, "who": who})
    assert answer.status_code == 409
    assert "reads “Read it aloud.” now" in html.unescape(answer.text)
    read = json.loads(form["read"])
    read["made_of"]["the alloy"] = "Silver 999"
    read["points"]["invest-number"] = "Read it aloud."
    other = await client.post(f"{address}/tick", data={**form, "read": json.dumps(read), "who": who})
    assert other.status_code == 409
    assert "the alloy was Silver 999" in other.text
    assert (await client.post(f"{address}/tick", data={**form, "read": "[", "who": who})).status_code == 409
    with db.read() as session:
        assert ticks.rows(session, [flask]) == ()


async def test_a_tick_is_taken_back_by_a_counter_entry_and_the_gate_is_open_again(
    client: httpx.AsyncClient, db: Database, settings: Settings, flask: str
) -> None:
    await work(client, db, settings, flask, Pause.INVEST)
    address = f"/flask/{flask}/check/invest"
    page = (await client.get(address)).text
    assert "Nothing holds the work back" in page
    back = form_of(page, "/back", "invest-number")
    for _ in range(2):
        assert (await client.post(f"{address}/back", data=back)).status_code == 303
    with db.read() as session:
        assert stand(session, gate_of(session, load_desk(session, settings), flask, Pause.INVEST)).holds_back
        kept = [row.ticked for row in ticks.rows(session, [flask]) if row.point == "invest-number"]
    assert kept == [True, False]
    refused = await client.post("/today/done", data={"flasks": flask, "stage": "invested", "key": "k"})
    assert (refused.status_code, stages(db, flask)) == (409, [])
    assert "<s>" in (await client.get(f"/flask/{flask}/record")).text
    assert (await client.post(f"{address}/back", data={**back, "key": "another"})).status_code == 409


async def test_a_point_is_ticked_once_by_whoever_comes_first(client: httpx.AsyncClient, db: Database, flask: str) -> None:
    address = f"/flask/{flask}/check/invest"
    page = (await client.get(address)).text
    form, people = form_of(page, "/tick", "invest-number"), people_of(page)
    for _ in range(2):
        assert (await client.post(f"{address}/tick", data={**form, "who": people[0]})).status_code == 303
    late = await client.post(f"{address}/tick", data={**form, "who": people[1], "key": "other"})
    assert late.status_code == 409
    assert f"ticked already by {people[0]}" in late.text
    with db.read() as session:
        assert [row.who for row in ticks.rows(session, [flask])] == [people[0]]


async def test_what_a_manager_lets_pass_needs_a_reason_and_is_kept_with_it(
    client: httpx.AsyncClient, db: Database, settings: Settings, flask: str
) -> None:
    address = f"/flask/{flask}/check/invest"
    page = (await client.get(address)).text
    form, manager = form_of(page, "/pass"), people_of(page)[0]
    for reason, who in (("hurry", manager), (" " * 12, manager), ("the gauge is broken", "")):
        answer = await client.post(f"{address}/pass", data={**form, "reason": reason, "manager": who})
        assert answer.status_code == 422, reason
    good = {**form, "reason": "the gauge is broken", "manager": manager}
    for _ in range(2):
        assert (await client.post(f"{address}/pass", data=good)).status_code == 303
    with db.read() as session:
        (kept,) = ticks.overrides(session, [flask])[flask]
        day = load_desk(session, settings).local(kept.at).date()
    assert (kept.reason, kept.who, "invest-number" in kept.points) == ("the gauge is broken", manager, True)
    assert (await client.post("/today/done", data={"flasks": flask, "stage": "invested", "key": "k"})).status_code == 303
    for shown in (f"/flask/{flask}", f"/flask/{flask}/record", f"{address}", f"/print/day/{day}"):
        assert "the gauge is broken" in (await client.get(shown)).text, shown
    over = await client.post(f"{address}/pass", data={**good, "key": "again"})
    assert over.status_code == 409
    assert "stays as it was" in over.text


async def test_where_the_shop_asks_for_it_another_person_signs(
    client: httpx.AsyncClient, db: Database, settings: Settings, flask: str
) -> None:
    assert 'name="second"' in (await client.get("/shop/checklists/invest-number")).text
    with db.write() as session:
        change = change_of("invest-number", ())
        assert change is not None
        checklists.save(session, replace(change, second=True), 0)
    await work(client, db, settings, flask, Pause.INVEST)
    address = f"/flask/{flask}/check/invest"
    held = await client.post("/today/done", data={"flasks": flask, "stage": "invested", "key": "k"})
    assert held.status_code == 409
    assert "waits for a second person" in held.text
    page = (await client.get(address)).text
    form = form_of(page, "/sign")
    with db.read() as session:
        first = ticks.ticks(session, [flask])[flask][Pause.INVEST]["invest-number"].who
        names = [p.name for p in load_desk(session, settings).problem.shop.people]
    other = next(name for name in names if name != first)
    for second, says in ((first, "another person looks"), ("", "choose who signs"), ("A stranger", "choose who signs")):
        answer = await client.post(f"{address}/sign", data={**form, "second": second})
        assert answer.status_code == 422
        assert says in answer.text
    for _ in range(2):
        assert (await client.post(f"{address}/sign", data={**form, "second": other})).status_code == 303
    assert f"signed by {other}" in (await client.get(address)).text
    assert (await client.post("/today/done", data={"flasks": flask, "stage": "invested", "key": "k"})).status_code == 303


async def test_a_load_is_checked_once_for_all_its_flasks(client: httpx.AsyncClient, db: Database, settings: Settings) -> None:
    with db.read() as session:
        load = next(one for one in load_desk(session, settings).open_plan.loads if len(one.flasks) > 1)
    first, *others = load.flasks
    await work(client, db, settings, first, Pause.KILN)
    with db.read() as session:
        desk = load_desk(session, settings)
        assert not any(stand(session, gate_of(session, desk, name, Pause.KILN)).holds_back for name in load.flasks)
        assert {row.flask for row in ticks.rows(session, load.flasks)} == set(load.flasks)
    sheet = (await client.get(f"/print/flask/{first}/checklist")).text
    assert "together with" in sheet
    assert all(name in sheet for name in others)


async def test_every_pause_has_its_page_and_an_unknown_one_has_none(client: httpx.AsyncClient, flask: str) -> None:
    for pause in Pause:
        assert (await client.get(f"/flask/{flask}/check/{pause.name.lower()}")).status_code == 200
    assert (await client.get(f"/flask/{flask}/check/lunch")).status_code == 404
    assert (await client.get("/flask/F999/check/melt")).status_code == 404
    way = (await client.get(f"/flask/{flask}/floor")).text
    assert all(f"/flask/{flask}/check/{pause.name.lower()}" in way for pauses in GATES.values() for pause in pauses)


@pytest.fixture
async def caster(app: FastAPI, db: Database) -> AsyncIterator[httpx.AsyncClient]:
    """Somebody who is signed in as a caster, with two colleagues."""
    from webapp.actions.accounts import DAY, now
    from webapp.auth.keys import kept_secret

    app.state.settings = replace(app.state.settings, sign_in=True)
    with db.write() as session:
        mine = accounts.add_account(session, "Cara", Role.CASTER, person=None, password=None, pin=kept_secret("2580"))
        accounts.add_account(session, "Dan", Role.CASTER, person=None, password=kept_secret("a long password"), pin=None)
        accounts.sign_in(session, "token", mine, None, now() + DAY)
    transport = httpx.ASGITransport(app=app, raise_app_exceptions=False)
    cookies = {SESSION_COOKIE: "token"}
    async with httpx.AsyncClient(transport=transport, base_url=ORIGIN, headers={"Origin": ORIGIN}, cookies=cookies) as client:
        yield client


async def test_with_sign_in_the_second_person_proves_who_they_are_and_wrong_tries_count(
    caster: httpx.AsyncClient, db: Database, flask: str
) -> None:
    with db.write() as session:
        change = change_of("invest-number", ())
        assert change is not None
        checklists.save(session, replace(change, second=True), 0)
    address = f"/flask/{flask}/check/invest"
    form = form_of((await caster.get(address)).text, "/tick", "invest-number")
    assert (await caster.post(f"{address}/tick", data={**form, "who": "Dan"})).status_code == 303
    form = form_of((await caster.get(address)).text, "/sign")
    with db.read() as session:
        assert ticks.rows(session, [flask])[0].who == "Cara"
        dan = next(row.id for row in accounts.accounts(session) if row.name == "Dan")
        cara = next(row.id for row in accounts.accounts(session) if row.name == "Cara")
    pin = await caster.post(f"{address}/sign", data={**form, "second": str(cara), "secret": "2580"})
    assert (pin.status_code, "2580" in pin.text) == (422, False)
    assert (await caster.post(f"{address}/sign", data={**form, "second": str(dan), "secret": "x"})).status_code == 422
    good = {**form, "second": str(dan), "secret": "a long password"}
    assert (await caster.post(f"{address}/sign", data=good)).status_code == 303
    with db.read() as session:
        assert [(row.who, row.second) for row in ticks.rows(session, [flask])] == [("Cara", False), ("Dan", True)]
    await caster.post(f"{address}/back", data=form_of((await caster.get(address)).text, "/back", "invest-number"))
    form = form_of((await caster.get(address)).text, "/tick", "invest-number")
    await caster.post(f"{address}/tick", data=form)
    good |= form_of((await caster.get(address)).text, "/sign")
    for _ in range(5):
        await caster.post(f"{address}/sign", data={**form, "second": str(dan), "secret": "x"})
    sixth = await caster.post(f"{address}/sign", data=good)
    assert (sixth.status_code, "too many wrong tries" in sixth.text) == (422, True)


async def test_a_caster_does_not_let_anything_pass(caster: httpx.AsyncClient, db: Database, flask: str) -> None:
    page = (await caster.get(f"/flask/{flask}/check/invest")).text
    assert "/check/invest/pass" not in page
    answer = await caster.post(
        f"/flask/{flask}/check/invest/pass", data={"reason": "the gauge is broken", "read": "{}", "key": "k"}
    )
    assert answer.status_code == 403
    with db.read() as session:
        assert ticks.overrides(session, [flask]) == {}


@pytest.fixture
async def german(app: FastAPI, db: Database) -> AsyncIterator[httpx.AsyncClient]:
    """Another caster, who reads German."""
    from webapp.actions.accounts import DAY, now

    app.state.settings = replace(app.state.settings, sign_in=True)
    with db.write() as session:
        mine = accounts.add_account(session, "Gerda", Role.CASTER, person=None, password=None, pin=None)
        accounts.sign_in(session, "other", mine, None, now() + DAY)
    transport, cookies = httpx.ASGITransport(app=app, raise_app_exceptions=False), {SESSION_COOKIE: "other"}
    async with httpx.AsyncClient(transport=transport, base_url=ORIGIN, headers={"Origin": ORIGIN}, cookies=cookies) as client:
        assert (await client.post("/who/units", data={"language": "Deutsch"})).status_code == 303
        yield client


async def test_what_is_ticked_in_one_language_is_ticked_in_another(
    caster: httpx.AsyncClient, german: httpx.AsyncClient, db: Database, flask: str
) -> None:
    address = f"/flask/{flask}/check/invest"
    page = (await german.get(address)).text
    sheets = [(await reader.get(f"/print/flask/{flask}/checklist")).text for reader in (german, caster)]
    assert ["Nummer und Legierung der Küvette laut vom Begleitblatt lesen" in text for text in (page, *sheets)] == [
        True,
        True,
        False,
    ]
    assert "Read the flask's number and alloy aloud from the ticket" in html.unescape(sheets[1])
    form = form_of(page, "/tick", "invest-number")
    assert (await german.post(f"{address}/tick", data=form)).status_code == 303
    for reader, ticked, again in ((caster, "1 of ", "to be ticked again"), (german, "1 von ", "neu abzuhaken")):
        page = (await reader.get(address)).text
        assert f"<strong>{ticked}" in page
        assert again not in page
        assert "Gerda" in page.split('id="invest-number"')[1].split("</li>")[0]
    form = form_of((await caster.get(f"{address}?at=invest-exhaust")).text, "/tick", "invest-exhaust")
    assert (await german.post(f"{address}/tick", data=form)).status_code == 303
    with db.read() as session:
        kept = {row.point: row.text for row in ticks.rows(session, [flask])}
    assert kept["invest-number"] == "Read the flask's number and alloy aloud from the ticket; mark the number on the flask."
    assert kept["invest-exhaust"].startswith("Switch dust extraction on")
    refused = await german.post("/today/done", data={"flasks": flask, "stage": "invested", "key": "k"})
    assert refused.status_code == 409
    assert f"{flask} kann noch nicht als eingebettet gelten. Die Checkliste vor dem Einbetten ist nicht fertig" in refused.text
    record = (await german.get(f"/flask/{flask}/record")).text
    assert "abgehakt vor dem Einbetten" in record
    assert "Staubabsaugung einschalten" in record
    assert "Switch dust extraction on" in (await caster.get(f"/flask/{flask}/record")).text


async def test_words_that_the_shop_changed_are_the_same_in_all_languages_and_what_changed_is_told_in_the_readers(
    caster: httpx.AsyncClient, german: httpx.AsyncClient, db: Database, flask: str
) -> None:
    address = f"/flask/{flask}/check/invest"
    page = (await german.get(address)).text
    form = form_of(page, "/tick", "invest-number")
    assert (await german.post(f"{address}/tick", data=form)).status_code == 303
    with db.write() as session:
        change = change_of("invest-number", ())
        assert change is not None
        checklists.save(session, replace(change, text="Say the number twice."), 0)
    english, page = (await caster.get(address)).text, (await german.get(address)).text
    assert "Say the number twice." in english
    assert "Say the number twice." in page
    assert "it read “Read the flask" in english
    assert "er lautete „Nummer und Legierung der Küvette" in page
