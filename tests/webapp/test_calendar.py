"""The week for calendars outside, read back by another reader; feeds are made, read and withdrawn."""

from __future__ import annotations

import logging
import re
from collections.abc import AsyncIterator, Callable, Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from html import unescape
from typing import Any
from zoneinfo import ZoneInfo

import httpx
import pytest
import vobject
from databases import NewDatabase, rows_of
from fastapi import FastAPI

from domain.planning.clock import Clock
from domain.planning.plan import Plan
from webapp.actions.planning import Desk, load_desk
from webapp.app import create_app
from webapp.exchange.calendar import Entry, entries_of, written
from webapp.settings import Settings
from webapp.store import ways
from webapp.store.week import save_plan
from webapp.views.numbers import qr_code
from webapp.ways import Language, Ways

ORIGIN = "http://localhost:8765"
FILE = "/week/castweek.ics"
MADE = datetime(2026, 3, 1, 12, tzinfo=UTC)


@pytest.fixture
def demo(new_database: NewDatabase, planned_demo: str, demo_settings: Callable[[str], Settings]) -> Settings:
    return demo_settings(new_database(planned_demo))


@pytest.fixture
def planned(demo: Settings) -> Iterator[FastAPI]:
    app = create_app(replace(demo, sign_in=True))
    yield app
    app.state.db.close()


@pytest.fixture
async def studio(planned: FastAPI) -> AsyncIterator[httpx.AsyncClient]:
    """The demo's studio, its first owner signed in."""
    async with browser(planned) as client:
        typed = {"code": planned.state.first_code, "name": "Ida", "password": "molten and bright"}
        assert (await client.post("/first-owner", data=typed)).status_code == 303
        yield client


def browser(app: FastAPI) -> httpx.AsyncClient:
    transport = httpx.ASGITransport(app=app, raise_app_exceptions=False)
    return httpx.AsyncClient(transport=transport, base_url=ORIGIN, headers={"Origin": ORIGIN})


@pytest.fixture
def desk(planned: FastAPI) -> Desk:
    with planned.state.db.read() as session:
        return load_desk(session, planned.state.settings)


def events(content: bytes) -> dict[str, Any]:
    """By what comes before the shop in their ids, which are each there once."""
    read = vobject.readOne(content.decode()).vevent_list
    found = {event.uid.value.split(".")[0]: event for event in read}
    assert len(found) == len(read)
    return found


def one(entry: Entry) -> Any:
    return events(written([entry], shop="x", made_at=MADE, version=1))[entry.key]


def entry(desk: Desk, plan: Plan, key: str) -> Entry:
    return next(entry for entry in entries_of(desk.problem, plan) if entry.key == key)


@pytest.mark.outside("vobject, another reader of iCalendar")
async def test_all_work_of_the_week_is_there_at_its_time(studio: httpx.AsyncClient, desk: Desk) -> None:
    answer = await studio.get(FILE)
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    found, plan, clock = events(answer.content), desk.plan, desk.problem.clock
    assert plan is not None
    for flask in plan.flasks:
        cast, out = found.pop(f"cast-{flask.id}"), found.pop(f"knock-out-{flask.id}")
        assert (cast.dtstart.value, cast.dtend.value) == (clock.local(flask.cast_start), clock.local(flask.cast_end))
        assert (out.dtstart.value, out.dtend.value) == (clock.local(flask.knockout_start), clock.local(flask.knockout_end))
        assert cast.summary.value.startswith(f"Cast flask {flask.id}: ")
        assert desk.problem.size[flask.size].name in cast.summary.value
        assert cast.sequence.value == str(desk.version)
    for load in plan.loads:
        kiln = found.pop(f"kiln-{load.id}-{clock.day_of(load.start):%Y%m%d}")
        assert (kiln.dtstart.value, kiln.dtend.value) == (clock.local(load.start), clock.local(load.program_end))
        assert all(flask in kiln.summary.value for flask in load.flasks)
    assert all(key.startswith("invest-") for key in found)
    named = [word for event in found.values() for word in re.findall(r"F\d+", event.summary.value)]
    assert sorted(named) == sorted(flask.id for flask in plan.flasks)
    minutes = sum((event.dtend.value - event.dtstart.value).total_seconds() // 60 for event in found.values())
    spans = [(flask.invest_start, flask.invest_end) for flask in plan.flasks]
    assert minutes == len({minute for start, end in spans for minute in range(start, end)})


@pytest.mark.outside("RFC 5545, section 3.1: lines end in CRLF and hold at most 75 octets, section 3.6: required properties")
async def test_lines_are_folded_and_ended_as_the_standard_says(studio: httpx.AsyncClient) -> None:
    content = (await studio.get(FILE)).content
    lines = content.split(b"\r\n")
    assert lines[0] == b"BEGIN:VCALENDAR"
    assert lines[-2:] == [b"END:VCALENDAR", b""]
    assert max(map(len, lines)) <= 75
    assert not re.search(rb"[\r\n]", b"".join(lines))
    assert any(line.startswith(b" ") for line in lines)
    unfolded = content.replace(b"\r\n ", b"").decode()
    for event in unfolded.split("BEGIN:VEVENT")[1:]:
        for name in ("UID", "DTSTAMP", "DTSTART", "SEQUENCE", "SUMMARY"):
            assert len(re.findall(rf"^{name}:", event, re.MULTILINE)) == 1
    assert "\r\nPRODID:" in unfolded
    assert "\r\nVERSION:2.0\r\n" in unfolded
    assert "\r\nREFRESH-INTERVAL;VALUE=DURATION:PT1H\r\n" in unfolded


def shifted(desk: Desk, first_day: date, zone: str) -> Desk:
    return replace(desk, problem=replace(desk.problem, clock=Clock(first_day, zone)))


@pytest.mark.outside("Directive 2000/84/EC, end of summer time, read by vobject")
def test_a_burnout_through_the_night_of_the_clock_keeps_its_length(desk: Desk) -> None:
    assert desk.plan is not None
    load = replace(desk.plan.loads[0], start=20 * 60, program_end=32 * 60)
    night = shifted(desk, date(2026, 10, 24), "Europe/Vienna")
    read = one(entry(night, Plan(loads=(load,)), f"kiln-{load.id}-20261024"))
    here = ZoneInfo("Europe/Vienna")
    assert read.dtstart.value.astimezone(here).replace(tzinfo=None) == datetime(2026, 10, 24, 20)
    assert read.dtend.value.astimezone(here).replace(tzinfo=None) == datetime(2026, 10, 25, 7)
    assert (read.dtend.value - read.dtstart.value).total_seconds() == 12 * 3600


@pytest.mark.outside("15 U.S.C. 260a: clocks go back on the first Sunday of November at two, read by vobject")
def test_both_hours_of_the_night_that_has_one_twice_can_be_told_apart(desk: Desk) -> None:
    assert desk.plan is not None
    flask = replace(desk.plan.flasks[0], id="F1", cast_start=90, cast_end=150)
    read = one(entry(shifted(desk, date(2026, 11, 1), "America/New_York"), Plan(flasks=(flask,)), "cast-F1"))
    assert read.dtstart.value == datetime(2026, 11, 1, 5, 30, tzinfo=UTC)  # half past one, summer time
    assert read.dtend.value == datetime(2026, 11, 1, 6, 30, tzinfo=UTC)  # half past one again


@pytest.mark.outside("vobject, another reader of iCalendar")
@pytest.mark.parametrize("name", ["Bronze; red, 90\\10", "two\nlines", "Ø 100 × 150 – " + "é" * 90, "\\n is no new line", "a\x07b"])
def test_whatever_a_name_holds_is_read_as_it_was_written(name: str) -> None:
    read = one(Entry(key="k", kind="Casting", start=MADE, end=MADE, summary=name, description=name))
    assert read.summary.value == read.description.value == name.replace("\x07", "")
    assert not hasattr(read, "dtend")


async def test_nothing_is_in_it_that_hurts_whom_it_is_about(studio: httpx.AsyncClient, desk: Desk) -> None:
    text = (await studio.get(FILE)).text.replace("\r\n ", "")
    week, plan = desk.week, desk.plan
    assert plan is not None
    secret = {person.name for person in week.shop.people} | {job.id for job in week.jobs} | {lot.id for lot in week.lots}
    secret |= {job.customer for job in week.jobs} | {job.item for job in week.jobs}
    assert len(secret) > 40
    assert not [word for word in secret if word and re.search(rf"\b{re.escape(word)}\b", text)]
    assert "customer" not in text
    assert not re.search(r"\d\s*(g|kg|oz|dwt)\b", text)


@pytest.mark.outside("vobject, another reader of iCalendar")
async def test_the_same_work_keeps_its_id_in_a_later_plan(studio: httpx.AsyncClient, planned: FastAPI, desk: Desk) -> None:
    before = events((await studio.get(FILE)).content)
    assert desk.plan is not None
    with planned.state.db.write() as session:
        later = save_plan(session, desk.plan, desk.now)
    after = events((await studio.get(FILE)).content)
    assert {event.uid.value for event in before.values()} == {event.uid.value for event in after.values()}
    assert {event.sequence.value for event in after.values()} == {str(later)}
    assert later > desk.version


@pytest.mark.outside("vobject, another reader of iCalendar")
async def test_a_calendar_without_a_plan_says_so(client: httpx.AsyncClient) -> None:
    (event,) = vobject.readOne((await client.get(FILE)).text).vevent_list
    assert event.summary.value == "No flask is planned yet"
    assert event.dtstart.value == date(2026, 3, 2)


async def made(client: httpx.AsyncClient, name: str) -> str:
    """The path of a new feed."""
    answer = await client.post("/calendar", data={"name": name})
    assert answer.status_code == 200
    found = re.search(r'value="http://localhost:8765(/calendar/[\w-]+\.ics)"', unescape(answer.text))
    assert found, answer.text
    return found[1]


async def test_a_feed_is_read_without_signing_in_until_it_is_withdrawn(studio: httpx.AsyncClient, planned: FastAPI) -> None:
    path, other = await made(studio, "My phone"), await made(studio, "Bench")
    async with browser(planned) as outside:
        assert (await outside.get(FILE)).status_code == 303
        read = await outside.get(path)
        assert read.status_code == 200
        assert read.content == (await studio.get(FILE)).content
        page = (await studio.get("/calendar")).text
        assert "My phone" in page
        id = re.search(r'action="/calendar/(\d+)/withdraw"', page)
        assert id
        done = await studio.post(f"/calendar/{id[1]}/withdraw")
        assert done.headers["location"] == "/calendar"
        assert (await outside.get(path)).status_code == 404
        assert (await outside.get(other)).status_code == 200
        for unknown in (path.removeprefix("/calendar/")[:-5], "", "x", "%00", "a" * 5000):
            assert (await outside.get(f"/calendar/{unknown}.ics")).status_code == 404, unknown
        assert (await studio.post(f"/calendar/{id[1]}/withdraw")).status_code == 303
        assert (await studio.post("/calendar/99999999999999999999/withdraw")).status_code in {404, 422}


async def test_the_address_of_a_feed_is_kept_nowhere(
    studio: httpx.AsyncClient, demo: Settings, caplog: pytest.LogCaptureFixture
) -> None:
    path = await made(studio, "My phone")
    token = path.removeprefix("/calendar/").removesuffix(".ics")
    assert len(token) * 6 >= 128
    assert token not in (await studio.get("/calendar")).text
    assert token not in str(rows_of(demo.database_url))
    ours = logging.getLogger("castweek")
    ours.addHandler(caplog.handler)
    ours.setLevel("INFO")
    try:
        assert (await studio.get(path)).status_code == 200
        assert (await studio.get(f"{path}/")).status_code in {307, 404}
    finally:
        ours.removeHandler(caplog.handler)
    shown = [getattr(record, "facts", {}).get("path") for record in caplog.records]
    assert "/calendar/…" in shown
    assert token not in str([record.__dict__ for record in caplog.records])


@pytest.mark.parametrize("name", ["", "   ", "x" * 61, "a\nb\x07"])
async def test_a_feed_needs_a_name(studio: httpx.AsyncClient, name: str) -> None:
    answer = await studio.post("/calendar", data={"name": name})
    assert answer.status_code == 422
    assert "say who will read it" in answer.text
    assert "There is no feed yet" in answer.text


async def test_a_name_is_given_once_and_stays_as_typed_where_it_is_refused(studio: httpx.AsyncClient) -> None:
    await made(studio, "My phone")
    answer = await studio.post("/calendar", data={"name": "my  Phone"})
    assert answer.status_code == 422
    assert "there is a feed named my Phone already" in answer.text
    assert 'value="my  Phone"' in answer.text


async def test_the_pages_lead_to_the_calendar(studio: httpx.AsyncClient) -> None:
    week = (await studio.get("/week")).text
    assert f'href="{FILE}"' in week
    assert 'href="/calendar"' in week
    assert 'href="/calendar"' in (await studio.get("/shop")).text


async def test_a_new_feeds_address_is_shown_as_a_code_once(studio: httpx.AsyncClient) -> None:
    answer = await studio.post("/calendar", data={"name": "Phone"})
    address = re.search(r'id="address" readonly value="([^"]+)"', answer.text)
    assert address is not None
    assert qr_code(address[1]) in answer.text
    assert 'data-copy="address"' in answer.text
    assert 'class="qr"' not in (await studio.get("/calendar")).text


async def test_a_feed_speaks_the_language_of_the_shop_and_keeps_its_ids(studio: httpx.AsyncClient, planned: FastAPI) -> None:
    path = await made(studio, "Phone")
    async with browser(planned) as outside:
        before = events((await outside.get(path)).content)
        with planned.state.db.write() as session:
            ways.choose(session, None, Ways(language=Language.GERMAN))
        after = events((await outside.get(path)).content)
    assert before.keys() == after.keys()
    cast = next(key for key in after if key.startswith("cast-"))
    flask = cast.removeprefix("cast-")
    assert before[cast].summary.value.startswith(f"Cast flask {flask}: ")
    assert after[cast].summary.value.startswith(f"Küvette {flask} gießen: ")
    assert after[f"knock-out-{flask}"].summary.value == f"Küvette {flask} ausbetten"
    assert after[cast].categories.value == ["Gießen"]
