"""``castweek doctor``: each thing that can be wrong is found and named, with what to do."""

from __future__ import annotations

import json
import os
import socket
import threading
from dataclasses import replace
from datetime import datetime
from http.server import BaseHTTPRequestHandler, HTTPServer
from pathlib import Path

import pytest
from databases import NewDatabase
from sqlalchemy import text

from webapp.cli import main
from webapp.doctor import Finding, Verdict, examine
from webapp.settings import Settings
from webapp.store.archive import write_archive
from webapp.store.copies import FOLDER, Kind, name_for
from webapp.store.engine import Database


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@pytest.fixture
def planned(new_database: NewDatabase, planned_demo: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Settings:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    url = new_database(planned_demo)
    monkeypatch.setenv("CASTWEEK_DATABASE_URL", url)
    monkeypatch.setenv("CASTWEEK_PORT", str(_free_port()))
    return Settings(database_url=url, port=int(os.environ["CASTWEEK_PORT"]))


def _about(settings: Settings, about: str) -> Finding:
    return next(found for found in examine(settings) if found.about == about)


def test_a_shop_that_is_well_is_said_to_be(planned: Settings, capsys: pytest.CaptureFixture[str]) -> None:
    db = Database(planned.database_url)
    write_archive(db, name_for(db, planned.folder / FOLDER, Kind.HAND, datetime.now()))
    db.close()
    assert [found for found in examine(planned) if found.verdict is Verdict.WRONG] == []
    assert main(["doctor", "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    names = {found["about"] for found in said}
    assert {"database", "soundness", "books", "record", "copies", "clock", "disk", "port"} <= names
    assert all(found["todo"] for found in said if found["verdict"] != "well")


def test_a_balance_that_the_entries_do_not_make_is_found(planned: Settings, capsys: pytest.CaptureFixture[str]) -> None:
    db = Database(planned.database_url)
    with db.write() as session:
        session.connection().execute(text("UPDATE ledger_balance SET mass = mass + 1 WHERE account = 'supplier'"))
    db.close()
    assert _about(planned, "books").verdict is Verdict.WRONG
    assert main(["doctor"]) == 1
    assert "What to do: Make a copy now" in capsys.readouterr().out


def test_a_guard_that_was_taken_away_is_named(planned: Settings) -> None:
    db = Database(planned.database_url)
    name, on = ("floor_record_no_delete", "") if db.is_sqlite else ("floor_record_no_change", " ON floor_record")
    with db.to_migrate() as connection:
        connection.execute(text(f"DROP TRIGGER {name}{on}"))
    db.close()
    found = _about(planned, "record")
    assert (found.verdict, found.says) == (Verdict.WRONG, name)


def test_a_reference_to_nothing_is_found(planned: Settings) -> None:
    db = Database(planned.database_url)
    raw = db.engine.raw_connection()
    cursor = raw.cursor()
    cursor.execute("PRAGMA foreign_keys=OFF" if db.is_sqlite else "SET session_replication_role = replica")
    cursor.execute("INSERT INTO sign_in (token, account, until) VALUES ('x', 999, 0)")
    raw.commit()
    raw.close()
    db.close()
    assert "a row of account that is not there" in _about(planned, "soundness").says


def test_a_database_that_is_not_there_or_of_a_newer_program(planned: Settings, tmp_path: Path) -> None:
    nowhere = replace(planned, database_url=f"sqlite:///{tmp_path / 'none.sqlite3'}")
    assert "there is no file" in _about(nowhere, "database").says
    assert not (tmp_path / "none.sqlite3").exists()
    db = Database(planned.database_url)
    with db.to_migrate() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    db.close()
    assert "newer Castweek" in _about(planned, "database").says


@pytest.mark.skipif(os.name != "posix", reason="permissions of files are those of POSIX systems")
def test_a_key_that_others_read_and_a_broken_certificate_are_wrong(planned: Settings) -> None:
    planned.folder.mkdir(exist_ok=True)
    key = planned.folder / "castweek-key.pem"
    key.write_text("secret")
    key.chmod(0o644)
    (planned.folder / "castweek-certificate.pem").write_text("none")
    assert _about(planned, "secrets").todo == f"Run: chmod 600 {key}"
    assert "cannot be read" in _about(planned, "certificate").says


@pytest.mark.parametrize(
    ("body", "verdict", "says"),
    [
        (b'{"ok":true}', Verdict.WELL, "healthy"),
        (b'{"ok":false}', Verdict.WRONG, "not healthy"),
        (b"hello", Verdict.WRONG, "another program"),
    ],
)
def test_who_answers_on_the_port_is_told(planned: Settings, body: bytes, verdict: Verdict, says: str) -> None:
    class Answers(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self.send_response(200)
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_: object) -> None:
            pass

    with HTTPServer(("127.0.0.1", 0), Answers) as server:
        thread = threading.Thread(target=server.serve_forever)
        thread.start()
        found = _about(replace(planned, port=server.server_port), "port")
        server.shutdown()
        thread.join()
    assert found.verdict is verdict
    assert says in found.says


def test_the_service_names_this_program(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setenv("CASTWEEK_DATABASE_URL", "postgresql://castweek:a%40b@db/shop")
    assert main(["service", "--lan"]) == 0
    unit = capsys.readouterr().out
    assert 'Environment="CASTWEEK_DATABASE_URL=postgresql://castweek:a%%40b@db/shop"' in unit
    assert "serve --no-browser --lan" in unit
