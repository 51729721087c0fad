"""A week leaves the app as a file and comes in again; a wrong file changes nothing."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from datetime import datetime

import httpx
import pytest
from databases import Databases, NewDatabase
from fastapi import FastAPI

from domain.books.accounts import Account, AccountKind
from domain.planning.manager import plan_by_hand
from domain.shop.alloy import Alloy
from domain.shop.jobs import Job
from domain.units import Mass
from domain.week.build import problem_of
from domain.week.week import Week
from webapp.actions import exchange as actions
from webapp.app import create_app
from webapp.demo import demo_week
from webapp.exchange.documents import PlanDocument, WeekDocument
from webapp.settings import Settings
from webapp.solving.runner import Phase, SolveState
from webapp.store import books, flasks, nouns
from webapp.store.books_check import broken
from webapp.store.engine import Database
from webapp.store.flasks import Stage
from webapp.store.plans import PlanStatus, plan_versions
from webapp.store.week import load_week, save_plan

ADDRESS = "/exchange"


NOW = datetime(2026, 3, 2, 8, 0)


@pytest.fixture
def now() -> datetime:
    return NOW


@pytest.fixture(scope="module")
def demo() -> Week:
    return demo_week(NOW.date(), NOW.time())


@pytest.fixture(scope="module")
def unplanned_demo(databases: Databases, migrated: str, demo: Week) -> str:
    """A database with the demo week, made once and copied for each test."""
    url = databases.new(migrated)
    db = Database(url)
    with db.write() as session:
        actions.replace_week(session, demo)
    db.close()
    return url


@pytest.fixture
def with_demo(settings: Settings, unplanned_demo: str, new_database: NewDatabase) -> Settings:
    return replace(settings, database_url=new_database(unplanned_demo))


@pytest.fixture
def app(with_demo: Settings) -> Iterator[FastAPI]:
    app = create_app(with_demo)
    yield app
    app.state.db.close()


def _plan(db: Database, now: datetime) -> int:
    with db.write() as session:
        return save_plan(session, plan_by_hand(problem_of(load_week(session, now))), now)


def _week(db: Database, now: datetime) -> Week:
    with db.read() as session:
        return load_week(session, now)


async def _send(client: httpx.AsyncClient, content: bytes) -> httpx.Response:
    return await client.post(f"{ADDRESS}/preview", files={"file": ("week.json", content, "application/json")})


def _key(page: str) -> str:
    return page.split('name="key" value="')[1].split('"')[0]


async def test_the_downloaded_week_is_the_week_that_planning_sees(client: httpx.AsyncClient, demo: Week) -> None:
    response = await client.get(f"{ADDRESS}/week.json")
    assert response.headers["content-disposition"] == 'attachment; filename="castweek-week-2026-03-02.json"'
    assert WeekDocument.model_validate(response.json()).to_domain() == demo


async def test_a_week_that_contradicts_itself_says_so_instead_of_failing(client: httpx.AsyncClient, app: FastAPI) -> None:
    with app.state.db.write() as session:
        nouns.archive(session, Alloy, "silver-925")
    response = await client.get(f"{ADDRESS}/week.json")
    assert response.status_code == 422
    assert "there is no alloy “silver-925”" in response.text


async def test_customers_metal_whose_job_is_done_does_not_stand_in_the_way(client: httpx.AsyncClient, app: FastAPI) -> None:
    with app.state.db.write() as session:
        nouns.archive(session, Job, "J126")
    assert (await client.get(f"{ADDRESS}/week.json")).status_code == 200


async def test_the_downloaded_plan_is_the_current_plan(client: httpx.AsyncClient, app: FastAPI, now: datetime) -> None:
    assert (await client.get(f"{ADDRESS}/plan.json")).status_code == 422
    _plan(app.state.db, now)
    response = await client.get(f"{ADDRESS}/plan.json")
    plan = PlanDocument.model_validate(response.json())
    assert plan.to_domain() == _week(app.state.db, now).previous
    assert plan.first_day == "2026-03-02"


async def test_a_week_is_shown_before_it_is_loaded_and_nothing_changes_until_then(
    client: httpx.AsyncClient, app: FastAPI, demo: Week, now: datetime
) -> None:
    fewer = replace(demo, jobs=tuple(replace(job, weight=5) if job.id == "J102" else job for job in demo.jobs[1:]))
    response = await _send(client, WeekDocument.from_domain(fewer).model_dump_json().encode())
    assert response.status_code == 200
    row = response.text.split(">jobs</th>")[1].split("</tr>")[0]
    assert "J102" in row  # changed
    assert "J101" in row  # taken out of use
    assert '<td class="number">44</td>' in row
    assert _week(app.state.db, now) == demo


async def test_loading_replaces_the_week_and_keeps_a_copy_of_what_was_there(
    client: httpx.AsyncClient, app: FastAPI, demo: Week, now: datetime, with_demo: Settings
) -> None:
    other = replace(demo, jobs=demo.jobs[3:6], lots=tuple(replace(lot, owner_job=None) for lot in demo.lots[:4]))
    page = await _send(client, WeekDocument.from_domain(other).model_dump_json().encode())
    response = await client.post(f"{ADDRESS}/load", data={"key": _key(page.text)})
    assert response.status_code == 303
    assert response.headers["location"] == "/week"
    assert _week(app.state.db, now) == other
    copies = list(with_demo.folder.glob("copies/*.sqlite3"))
    assert len(copies) == 1
    with closing(sqlite3.connect(copies[0])) as copy:
        assert copy.execute("SELECT count(*) FROM job WHERE archived_at IS NULL").fetchone() == (len(demo.jobs),)


async def test_a_week_comes_into_an_empty_app(settings: Settings, demo: Week, now: datetime) -> None:
    app = create_app(settings)
    preview = actions.preview_week(app.state.db, settings, WeekDocument.from_domain(demo).model_dump_json().encode())
    assert len(preview.changes[0].new) == len(demo.jobs)
    actions.load_previewed(app.state.db, settings, preview.key)
    assert _week(app.state.db, now) == demo
    app.state.db.close()


async def test_a_week_with_its_plan_and_pins_comes_back_as_it_left(client: httpx.AsyncClient, app: FastAPI, now: datetime) -> None:
    _plan(app.state.db, now)
    with app.state.db.write() as session:
        pinned = load_week(session, now).previous.flasks[0].id  # type: ignore[union-attr]
        flasks.pin(session, pinned)
    before = _week(app.state.db, now)
    document = (await client.get(f"{ADDRESS}/week.json")).content
    with app.state.db.write() as session:
        actions.replace_week(session, replace(before, jobs=before.jobs[:1], lots=(), previous=None, pinned=frozenset()))
    page = await _send(client, document)
    assert "becomes the current plan" in page.text
    await client.post(f"{ADDRESS}/load", data={"key": _key(page.text)})
    assert _week(app.state.db, now) == before


def test_a_week_without_a_plan_leaves_no_plan_current(app: FastAPI, demo: Week, now: datetime) -> None:
    _plan(app.state.db, now)
    with app.state.db.write() as session:
        actions.replace_week(session, demo)
    assert _week(app.state.db, now).previous is None
    with app.state.db.read() as session:
        assert [version.status for version in plan_versions(session)] == [PlanStatus.OLD]


def test_a_flask_that_bears_the_id_of_another_in_the_record_gets_one_of_its_own(app: FastAPI, demo: Week, now: datetime) -> None:
    db: Database = app.state.db
    _plan(db, now)
    here = _week(db, now)
    assert here.previous is not None
    first = here.previous.flasks[0]
    with db.write() as session:
        flasks.record(session, first.id, Stage.INVESTED)
    other = replace(first, cast_start=first.cast_start + 60, cast_end=first.cast_end + 60)
    plan = replace(here.previous, flasks=(other, *here.previous.flasks[1:]))
    with db.write() as session:
        actions.replace_week(session, replace(demo, previous=plan))
    there = _week(db, now)
    assert there.previous is not None
    assert f"{first.id}-2" in {flask.id for flask in there.previous.flasks}
    assert there.pinned == frozenset()


def test_masses_that_differ_are_booked_so_that_the_ledger_adds_up(app: FastAPI, demo: Week) -> None:
    db: Database = app.state.db
    lot = demo.lots[0]
    with db.write() as session:
        actions.replace_week(session, replace(demo, lots=(replace(lot, mass=Mass.g(33)), *demo.lots[1:])))
    with db.read() as session:
        shelf = Account(AccountKind.LOT, lot.id)
        moved = [entry.of(shelf) for entry in books.entries(session, account=shelf)]
        assert broken(session) == ()
    assert sum(mass.base for mass in moved) == 33_000
    assert len(moved) == 2


async def test_a_wrong_file_is_refused_with_every_path_and_changes_nothing(
    client: httpx.AsyncClient, app: FastAPI, demo: Week, now: datetime
) -> None:
    document = json.loads(WeekDocument.from_domain(demo).model_dump_json())
    document["jobs"][3]["pattern_mass"] = -1
    document["jobs"][5]["alloy"] = "<script>alert(1)</script>"
    response = await _send(client, json.dumps(document).encode())
    assert response.status_code == 422
    assert "<code>jobs[3].pattern_mass</code>: the mass must be more than 0 g" in response.text
    assert "<script>alert" not in response.text
    del document["jobs"][3]["pattern_mass"]
    document["jobs"][3]["metal_volume"] = 50
    response = await _send(client, json.dumps(document).encode())
    assert "jobs[5].alloy" in response.text
    assert _week(app.state.db, now) == demo


@pytest.mark.parametrize("content", [b"", b"not json", b"[" * 50_000, b"\xff\xfe", b'{"a": NaN}', b"[]"])
async def test_what_is_no_document_is_refused(client: httpx.AsyncClient, content: bytes) -> None:
    response = await _send(client, content)
    assert response.status_code == 422
    assert "Nothing was changed." in response.text


async def test_no_file_is_said(client: httpx.AsyncClient) -> None:
    response = await client.post(f"{ADDRESS}/preview")
    assert response.status_code == 422
    assert "no file was chosen" in response.text


async def test_an_upload_is_capped(client: httpx.AsyncClient) -> None:
    assert (await _send(client, b" " * 9_000_000)).status_code == 413


@pytest.mark.parametrize("key", ["", "../../etc/passwd", "0" * 64, "x" * 64, "0" * 63 + "\n"])
async def test_only_what_was_looked_at_is_loaded(
    client: httpx.AsyncClient, app: FastAPI, key: str, demo: Week, now: datetime
) -> None:
    response = await client.post(f"{ADDRESS}/load", data={"key": key})
    assert response.status_code == 422
    assert "Choose it once more" in response.text
    assert _week(app.state.db, now) == demo


async def test_a_copy_that_cannot_be_made_stops_the_load(
    client: httpx.AsyncClient, app: FastAPI, demo: Week, now: datetime, with_demo: Settings
) -> None:
    fewer = replace(demo, jobs=demo.jobs[20:])
    page = await _send(client, WeekDocument.from_domain(fewer).model_dump_json().encode())
    folder = with_demo.folder
    (folder / "copies").write_text("in the way", encoding="utf-8")
    response = await client.post(f"{ADDRESS}/load", data={"key": _key(page.text)})
    assert response.status_code == 422
    assert "so nothing was changed" in response.text
    assert _week(app.state.db, now) == demo


async def test_no_week_is_brought_in_under_a_planner_that_is_at_work(
    client: httpx.AsyncClient, app: FastAPI, demo: Week, monkeypatch: pytest.MonkeyPatch, now: datetime
) -> None:
    page = await _send(client, WeekDocument.from_domain(replace(demo, jobs=demo.jobs[20:])).model_dump_json().encode())
    monkeypatch.setattr(app.state.runner, "state", lambda _shop: SolveState(phase=Phase.RUNNING))
    response = await client.post(f"{ADDRESS}/load", data={"key": _key(page.text)})
    assert response.status_code == 422
    assert "A plan is being made" in response.text
    assert _week(app.state.db, now) == demo


async def test_only_the_newest_uploads_are_kept_aside(client: httpx.AsyncClient, demo: Week, with_demo: Settings) -> None:
    for count in range(7):
        sent = replace(demo, jobs=demo.jobs[: 30 + count])
        await _send(client, WeekDocument.from_domain(sent).model_dump_json().encode())
    folder = with_demo.folder / "sent"
    assert len(list(folder.glob("*.json"))) == 5
