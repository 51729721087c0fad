"""The app as a whole: errors are told and logged, a new database opens with a starting shop."""

from __future__ import annotations

import io
import json
import logging
import re
from datetime import datetime
from pathlib import Path

import httpx
import pytest
from databases import NewDatabase
from fastapi import FastAPI

from domain.shop.alloy import Alloy
from domain.week.build import problem_of
from webapp import log
from webapp.app import create_app
from webapp.settings import Settings, data_folder, local_timezone, settings_from
from webapp.store import nouns
from webapp.store.trouble import Unavailable
from webapp.store.week import load_week


async def test_an_unexpected_error_is_a_page_with_a_reference_that_is_in_the_log(app: FastAPI, client: httpx.AsyncClient) -> None:
    written = io.StringIO()
    (handler,) = (h for h in log.log.handlers if isinstance(h.formatter, log.JsonLines))
    assert isinstance(handler, logging.StreamHandler)
    handler.setStream(written)

    @app.get("/broken")
    def broken() -> None:
        raise RuntimeError("the secret reason")

    answer = await client.get("/broken")
    assert answer.status_code == 500
    assert "the secret reason" not in answer.text
    assert "content-security-policy" in answer.headers
    reference = re.search(r"Reference: <code>(\w+)</code>", answer.text)
    assert reference is not None
    entry = json.loads(written.getvalue().splitlines()[-1])
    assert entry["request"] == reference[1]
    assert "the secret reason" in entry["trace"]


async def test_a_report_of_an_action_is_shown_once(client: httpx.AsyncClient) -> None:
    await client.post("/shop/closures", data={"first": "2026-04-03", "last": "2026-04-03"})
    assert "The closure was added." in (await client.get("/shop/closures")).text
    assert "The closure was added." not in (await client.get("/shop/closures")).text


async def test_every_page_ends_with_the_standing_caution(client: httpx.AsyncClient) -> None:
    for address in ("/jobs", "/shop", "/no-such-page"):
        assert "licensed practice" in (await client.get(address)).text


def test_a_new_database_opens_with_a_shop_that_can_be_planned(new_database: NewDatabase) -> None:
    app = create_app(Settings(database_url=new_database(None), log_level="ERROR"))
    with app.state.db.read() as session:
        week = load_week(session, datetime(2026, 3, 2, 8))
    assert len(week.shop.alloys) >= 16
    assert len(week.shop.sizes) >= 6
    assert problem_of(week).shifts
    app.state.db.close()


def test_starting_again_leaves_the_shop_as_it_is(settings: Settings) -> None:
    app = create_app(settings)
    with app.state.db.write() as session:
        nouns.archive(session, Alloy, "silver-925")
    app.state.db.close()
    again = create_app(settings)
    with again.state.db.read() as session:
        assert "silver-925" not in {alloy.id for alloy in nouns.all_of(session, Alloy)}
    again.state.db.close()


def test_the_demo_never_uses_the_shops_own_file() -> None:
    environment = {"XDG_DATA_HOME": "/srv/data", "CASTWEEK_DATABASE_URL": "sqlite:////srv/own.sqlite3"}
    assert settings_from(environment, demo=True).database_url == "sqlite:////srv/data/castweek/demo.sqlite3"
    assert settings_from(environment).database_url == "sqlite:////srv/own.sqlite3"


def test_data_lies_in_the_users_data_folder() -> None:
    assert data_folder({"XDG_DATA_HOME": "/srv/data"}) == Path("/srv/data/castweek")
    assert data_folder({}) == Path.home() / ".local" / "share" / "castweek"


def test_the_time_zone_is_the_machines_or_utc(tmp_path: Path) -> None:
    zone = tmp_path / "zoneinfo" / "Europe" / "Vienna"
    zone.parent.mkdir(parents=True)
    zone.touch()
    link = tmp_path / "localtime"
    link.symlink_to(zone)
    assert local_timezone(link) == "Europe/Vienna"
    assert local_timezone(tmp_path / "none") == "UTC"


@pytest.mark.parametrize("url", ["mysql://localhost/castweek", "sqlite://", "postgresql://localhost", "castweek.sqlite3", ""])
def test_an_address_that_is_no_database_is_refused_in_words(url: str) -> None:
    with pytest.raises(Unavailable, match="Write it like sqlite:"):
        create_app(Settings(database_url=url, log_level="ERROR"))


def test_a_file_that_is_no_database_is_told_in_words(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("these are not the tables that you are looking for" * 20, encoding="utf-8")
    with pytest.raises(Unavailable, match=r"notes\.txt cannot be used: file is not a database"):
        create_app(Settings(database_url=f"sqlite:///{tmp_path / 'notes.txt'}", log_level="ERROR"))
