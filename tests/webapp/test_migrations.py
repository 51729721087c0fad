"""Migrations and tables say the same."""

from __future__ import annotations

import subprocess
import sys
from collections import defaultdict

from alembic import command
from databases import NewDatabase
from sqlalchemy import Connection, text

from webapp.store.engine import Database
from webapp.store.migrations import config_for
from webapp.store.tables import METADATA


def _schema(db: Database) -> dict[str, set[str]]:
    """Each table's definitions, in any order."""
    with db.read() as session:
        connection = session.connection()
        if not db.is_sqlite:
            return _catalogue(connection)
        rows = connection.execute(text("SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL")).all()
    return {name: _parts(sql) for name, sql in rows if name != "alembic_version"}


def _catalogue(connection: Connection) -> dict[str, set[str]]:
    """The same as PostgreSQL writes it down."""
    found: dict[str, set[str]] = defaultdict(set)
    for query in (
        "SELECT table_name, concat_ws(' ', column_name, data_type, is_nullable, character_maximum_length)"
        " FROM information_schema.columns WHERE table_schema = 'public'",
        "SELECT conrelid::regclass::text, conname || ' ' || pg_get_constraintdef(oid) FROM pg_constraint WHERE conrelid <> 0",
        "SELECT tablename, indexdef FROM pg_indexes WHERE schemaname = 'public'",
        "SELECT tgrelid::regclass::text, tgname FROM pg_trigger WHERE NOT tgisinternal",
    ):
        for table, definition in connection.execute(text(query)):
            found[table].add(definition)
    return {table: parts for table, parts in found.items() if table in METADATA.tables}


def _parts(sql: str) -> set[str]:
    """The definitions between the outer parentheses, however they were laid out; all of it where there are none."""
    if "(" not in sql:
        return {sql}
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


def test_upgrading_from_nothing_gives_the_tables_with_all_their_checks(empty_db: Database, new_database: NewDatabase) -> None:
    fresh = Database(new_database(None))
    with fresh.to_migrate() as connection:
        METADATA.create_all(connection)
    assert _schema(empty_db).keys() == _schema(fresh).keys()
    for name, parts in _schema(fresh).items():
        assert _schema(empty_db)[name] == parts
    fresh.close()


def test_two_servers_that_start_at_once_migrate_once(new_database: NewDatabase) -> None:
    url = new_database(None)
    start = "import sys; from webapp.store import engine, migrations; migrations.migrate(engine.Database(sys.argv[1]))"
    servers = [subprocess.Popen([sys.executable, "-c", start, url], stderr=subprocess.PIPE, text=True) for _ in range(2)]
    assert [server.communicate()[1] for server in servers] == ["", ""]
    db = Database(url)
    command.check(config_for(db))
    db.close()
