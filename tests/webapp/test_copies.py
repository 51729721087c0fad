"""Copies of the complete shop: the owner's page, the daily ones, and the health that anybody may ask for."""

from __future__ import annotations

import io
import json
import logging
import os
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import httpx
import pytest
from fastapi import FastAPI
from sqlalchemy import text

from webapp import log
from webapp.keeper import Keeper
from webapp.settings import Settings
from webapp.store.archive import check_archive
from webapp.store.copies import CopyRule, Kind, copies_in, name_for, save_rule
from webapp.store.engine import Database
from webapp.store.replacing import copy_of

NOON = datetime(2026, 3, 2, 12, 0)


@pytest.fixture
def quiet() -> Iterator[None]:
    log.log.setLevel("CRITICAL")
    yield
    log.log.setLevel("ERROR")


async def test_the_shop_is_downloaded_whole(client: httpx.AsyncClient, tmp_path: Path) -> None:
    response = await client.get("/copies/now.zip")
    assert response.status_code == 200
    (tmp_path / "shop.zip").write_bytes(response.content)
    assert check_archive(tmp_path / "shop.zip").rows > 20
    assert "manifest.json" in zipfile.ZipFile(io.BytesIO(response.content)).namelist()


async def test_a_copy_made_by_hand_is_listed_with_size_and_age(client: httpx.AsyncClient) -> None:
    assert "There is no copy yet" in (await client.get("/copies")).text
    made = await client.post("/copies", follow_redirects=True)
    assert "read back and found whole" in made.text
    assert "made by hand" in made.text
    assert "today" in made.text
    name = made.text.split('href="/copies/')[2].split('"')[0]
    assert (await client.get(f"/copies/{name}")).content.startswith(b"PK")
    assert (await client.get("/copies/..%2Ftest.sqlite3")).status_code == 404


async def test_the_count_to_keep_is_refused_beside_its_field(client: httpx.AsyncClient) -> None:
    refused = await client.post("/copies/rule", data={"daily": "on", "keep": "none"})
    assert refused.status_code == 422
    assert "a whole number from 1 to 365" in refused.text
    assert 'value="none"' in refused.text
    await client.post("/copies/rule", data={"daily": "on", "keep": "3"})
    assert 'value="3"' in (await client.get("/copies")).text


def _daily(keeper: Keeper) -> list[datetime]:
    return [copy.made_at for copy in copies_in(keeper.db, keeper.folder) if copy.kind is Kind.DAILY]


def test_each_day_has_one_copy_and_only_the_newest_are_kept(db: Database, settings: Settings) -> None:
    with db.write() as session:
        save_rule(session, CopyRule(daily=True, keep=2))
    copy_of(db, settings.folder / "copies", NOON - timedelta(days=9))
    for day in range(4):
        keeper = Keeper(db, replace(settings, fixed_now=NOON + timedelta(days=day)))
        assert keeper.look()
        assert keeper.look()
    assert _daily(keeper) == [NOON + timedelta(days=3), NOON + timedelta(days=2)]
    assert [copy.kind for copy in copies_in(db, keeper.folder)].count(Kind.WEEK) == 1
    assert not list(keeper.folder.glob("*.part"))
    with db.write() as session:
        save_rule(session, CopyRule(daily=False, keep=2))
    assert Keeper(db, replace(settings, fixed_now=NOON + timedelta(days=9))).look()
    assert len(_daily(keeper)) == 2


def test_what_a_copy_left_unfinished_is_taken_away_after_a_day(db: Database, settings: Settings) -> None:
    keeper = Keeper(db, replace(settings, fixed_now=NOON))
    keeper.folder.mkdir(parents=True, exist_ok=True)
    left = name_for(db, keeper.folder, Kind.DAILY, NOON).name
    old, young, strange = (keeper.folder / name for name in (f".{left}.a.part", f".{left}.b.part", ".another.zip.c.part"))
    for file in (old, young, strange):
        file.touch()
    for file in (old, strange):
        os.utime(file, (0, 0))
    assert keeper.look()
    assert (old.exists(), young.exists(), strange.exists()) == (False, True, True)


@pytest.mark.usefixtures("quiet")
async def test_a_failure_is_told_on_the_page_until_a_copy_could_be_made(app: FastAPI, client: httpx.AsyncClient) -> None:
    keeper: Keeper = app.state.keeper
    keeper.folder.parent.mkdir(exist_ok=True)
    keeper.folder.write_text("a file in the place of the folder")
    assert not keeper.look()
    assert "could not be made" in (await client.get("/copies")).text
    keeper.folder.unlink()
    assert keeper.look()
    assert "could not be made" not in (await client.get("/copies")).text


def test_names_are_those_of_this_database_alone(db: Database, tmp_path: Path) -> None:
    target = name_for(db, tmp_path, Kind.DAILY, NOON)
    target.write_bytes(b"")
    (tmp_path / f"other-{target.name}").write_bytes(b"")
    assert name_for(db, tmp_path, Kind.DAILY, NOON) != target
    assert [copy.path for copy in copies_in(db, tmp_path)] == [target]


@pytest.mark.usefixtures("quiet")
async def test_health_is_yes_or_no_and_nothing_else(client: httpx.AsyncClient, db: Database) -> None:
    well = await client.get("/health")
    assert (well.status_code, well.json()) == (200, {"ok": True})
    with db.to_migrate() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '0001'"))
    ill = await client.get("/health")
    assert (ill.status_code, ill.json()) == (503, {"ok": False})


def test_loggers_of_the_app_and_of_the_domain_write_json(capsys: pytest.CaptureFixture[str]) -> None:
    log.set_up("INFO")
    try:
        for name in ("webapp.cli", "domain.week.answer", "castweek"):
            logging.getLogger(name).warning("said by %s", name)
        lines = [json.loads(line) for line in capsys.readouterr().err.splitlines()]
        assert [line["message"] for line in lines] == ["said by webapp.cli", "said by domain.week.answer", "said by castweek"]
        assert lines[0]["logger"] == "webapp.cli"
    finally:
        log.set_up("ERROR")
