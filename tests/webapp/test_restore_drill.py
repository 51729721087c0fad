"""The drill: a shop is copied, restored on the same and on the other kind of database, and compared."""

from __future__ import annotations

import zipfile
from datetime import datetime
from pathlib import Path

import pytest
from alembic import command
from databases import Databases, PostgresDatabases, SqliteFiles, rows_of
from sqlalchemy import text

from domain.errors import DomainError
from webapp.cli import main
from webapp.store.archive import check_archive, write_archive
from webapp.store.books_check import broken, rebuilt
from webapp.store.engine import Database
from webapp.store.migrations import config_for, migrate
from webapp.store.restoring import restore_archive
from webapp.store.trouble import Unavailable
from webapp.store.upgrading import bring_up_to_date, current_revision


@pytest.fixture
def archive(planned_demo: str, tmp_path: Path) -> Path:
    return _archive(planned_demo, tmp_path / "shop.zip")


def _archive(url: str, target: Path) -> Path:
    db = Database(url)
    write_archive(db, target)
    db.close()
    return target


@pytest.fixture
def both(sqlite_files: SqliteFiles, postgres_databases: PostgresDatabases) -> tuple[Databases, Databases]:
    return sqlite_files, postgres_databases


def _books(url: str) -> object:
    db = Database(url)
    with db.read() as session:
        assert broken(session) == ()
        sums = rebuilt(session)
    db.close()
    return sums


def test_rows_and_sums_of_the_books_are_equal_after_a_way_through_both_databases(
    planned_demo: str, archive: Path, both: tuple[Databases, Databases], tmp_path: Path
) -> None:
    files, server = both
    for number, databases in enumerate((files, server, files)):
        url = databases.new()
        restore_archive(archive, url)
        assert rows_of(url) == rows_of(planned_demo)
        assert _books(url) == _books(planned_demo)
        archive = _archive(url, tmp_path / f"{number}.zip")
        databases.drop(url)


def test_a_restored_database_is_sound_and_takes_the_next_entry(sqlite_files: SqliteFiles, archive: Path) -> None:
    url = sqlite_files.new()
    restore_archive(archive, url)
    db = Database(url)
    with db.read() as session:
        assert session.connection().execute(text("PRAGMA integrity_check")).scalar() == "ok"
        assert session.connection().execute(text("PRAGMA foreign_key_check")).all() == []
    command.check(config_for(db))
    db.close()
    assert Path(db.address.database or "").stat().st_mode & 0o077 == 0


def test_what_is_there_is_never_overwritten(planned_demo: str, archive: Path) -> None:
    before = rows_of(planned_demo)
    with pytest.raises(DomainError, match="already"):
        restore_archive(archive, planned_demo)
    assert rows_of(planned_demo) == before


def test_a_damaged_archive_is_refused_before_anything_is_made(archive: Path, sqlite_files: SqliteFiles, tmp_path: Path) -> None:
    damaged = tmp_path / "damaged.zip"
    with zipfile.ZipFile(archive) as whole, zipfile.ZipFile(damaged, "w") as copy:
        for name in whole.namelist():
            data = whole.read(name)
            copy.writestr(name, data.replace(b"J103", b"J999", 1) if name == "tables/job.jsonl" else data)
    url = sqlite_files.new()
    with pytest.raises(DomainError, match="damaged: its table job"):
        restore_archive(damaged, url)
    assert not Path(url.removeprefix("sqlite:///")).exists()
    (tmp_path / "none.zip").write_bytes(archive.read_bytes()[:5000])
    with pytest.raises(DomainError, match="cannot be read"):
        check_archive(tmp_path / "none.zip")


def test_an_older_database_is_upgraded_after_a_copy_and_its_archive_restores_to_today(databases: Databases, tmp_path: Path) -> None:
    old = databases.new()
    db = Database(old)
    migrate(db, "0009")
    _archive(old, tmp_path / "old.zip")
    copy = bring_up_to_date(db, tmp_path / "copies", datetime(2026, 3, 2, 7, 0))
    assert copy is not None
    assert "before-upgrade-2026-03-02-0700" in copy.name
    assert bring_up_to_date(db, tmp_path / "copies", datetime(2026, 3, 2, 7, 0)) is None
    newest = current_revision(db)
    db.close()
    new = databases.new()
    restore_archive(tmp_path / "old.zip", new)
    again = Database(new)
    assert current_revision(again) == newest
    again.close()
    for url in (old, new):
        databases.drop(url)


def test_a_database_of_a_newer_program_is_left_alone(sqlite_files: SqliteFiles, tmp_path: Path) -> None:
    db = Database(sqlite_files.new())
    migrate(db)
    with db.to_migrate() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(Unavailable, match="newer Castweek"):
        bring_up_to_date(db, tmp_path, datetime(2026, 3, 2))
    db.close()


def test_the_two_commands(
    planned_demo: str,
    sqlite_files: SqliteFiles,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setenv("CASTWEEK_DATABASE_URL", planned_demo)
    target = tmp_path / "copy.zip"
    assert main(["backup", str(target)]) == 0
    assert "read back and found whole" in capsys.readouterr().out
    assert main(["backup", str(target)]) == 2
    assert "never overwrites" in capsys.readouterr().err
    url = sqlite_files.new()
    monkeypatch.setenv("CASTWEEK_DATABASE_URL", url)
    assert main(["backup"]) == 2
    assert "There is no shop" in capsys.readouterr().err
    assert main(["restore", str(target)]) == 0
    assert rows_of(url) == rows_of(planned_demo)
    assert main(["restore", str(target)]) == 2
    assert "There is a shop already" in capsys.readouterr().err
