"""Migrations and tables say the same."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from sqlalchemy import text

from webapp.store.engine import Database
from webapp.store.migrations import config_for
from webapp.store.tables import METADATA


def _schema(db: Database) -> dict[str, set[str]]:
    """Each table's definitions, in any order."""
    with db.read() as session:
        rows = session.connection().execute(text("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL")).all()
    return {name: _parts(sql) for name, sql in rows if name != "alembic_version"}


def _parts(sql: str) -> set[str]:
    """The definitions between the outer parentheses, however they were laid out."""
    body, depth, parts = sql[sql.index("(") + 1 : sql.rindex(")")], 0, [""]
    for letter in body:
        depth += (letter == "(") - (letter == ")")
        if letter == "," and depth == 0:
            parts.append("")
        else:
            parts[-1] += letter
    return {" ".join(part.replace('"', "").split()) for part in parts}


def test_no_table_differs_from_its_migrations(empty_db: Database) -> None:
    command.check(config_for(empty_db))


def test_upgrading_from_nothing_gives_the_tables_with_all_their_checks(empty_db: Database, tmp_path: Path) -> None:
    fresh = Database(f"sqlite:///{tmp_path / 'fresh.sqlite3'}")
    with fresh.write() as session:
        METADATA.create_all(session.connection())
    assert _schema(empty_db).keys() == _schema(fresh).keys()
    for name, parts in _schema(fresh).items():
        assert _schema(empty_db)[name] == parts
    fresh.close()
