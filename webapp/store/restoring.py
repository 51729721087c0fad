"""An archive becomes a database again: only where there is none, whole or not at all, and every table compared by its sum."""

from __future__ import annotations

import zipfile
from itertools import islice
from pathlib import Path

from alembic.util.exc import CommandError
from sqlalchemy import Connection, Integer, Table, insert, text
from sqlalchemy.exc import SQLAlchemyError

from domain.errors import DomainError
from webapp.store.archive import CHUNK, NO_CONTENT, Manifest, check_archive, content_of, lines_of, opened, row_of, tables_of
from webapp.store.connecting import address_of
from webapp.store.engine import Database
from webapp.store.migrations import migrate
from webapp.store.whole_files import move_for_good

ELSEWHERE = "Nothing was changed. Move it away, or name another place in CASTWEEK_DATABASE_URL."


def restore_archive(path: Path, url: str) -> Manifest:
    """Makes the database at ``url`` hold what the archive holds, at the newest revision. Raises ``DomainError``
    where the archive is damaged or anything is there already, and ``Unavailable``."""
    manifest = check_archive(path)
    address = address_of(url)
    if address.get_backend_name() == "sqlite":
        _into_file(path, manifest, Path(address.database or ""))
    else:
        _into_server(path, manifest, url)
    return manifest


def _into_file(path: Path, manifest: Manifest, target: Path) -> None:
    """Under another name until it is whole, so that nobody ever opens half a shop."""
    for name in (target, *(target.with_name(f"{target.name}{end}") for end in ("-wal", "-shm"))):
        if name.exists():
            raise DomainError(f"There is a shop already: {name}. {ELSEWHERE}")
    part = target.with_name(f"{target.name}.restoring")
    for end in ("", "-wal", "-shm"):
        part.with_name(f"{part.name}{end}").unlink(missing_ok=True)
    db = Database(f"sqlite:///{part}")
    try:
        _fill(path, manifest, db)
    except BaseException:
        db.close()
        part.unlink(missing_ok=True)
        raise
    db.close()
    part.chmod(0o600)
    move_for_good(part, target)


def _into_server(path: Path, manifest: Manifest, url: str) -> None:
    db = Database(url)
    try:
        with db.read() as session:
            if tables_of(session.connection()):
                raise DomainError(f"There are tables already in {db.address!r}. {ELSEWHERE}")
        try:
            _fill(path, manifest, db)
        except BaseException:
            _empty(db)
            raise
    finally:
        db.close()


def _empty(db: Database) -> None:
    with db.to_migrate() as connection:
        for table in reversed(tables_of(connection)):
            connection.execute(text(f'DROP TABLE "{table.name}" CASCADE'))
        for name in NO_CONTENT:
            connection.execute(text(f"DROP TABLE IF EXISTS {name}"))


def _fill(path: Path, manifest: Manifest, db: Database) -> None:
    try:
        migrate(db, manifest.revision)
    except CommandError:
        raise DomainError("This archive was written by a newer Castweek. Install that one, then restore.") from None
    try:
        with opened(path) as archive, db.write() as session:
            _insert_all(archive, manifest, session.connection())
    except SQLAlchemyError as error:
        raise DomainError(f"The archive could not be restored, and nothing is kept of the attempt: {error}") from None
    migrate(db)


def _insert_all(archive: zipfile.ZipFile, manifest: Manifest, connection: Connection) -> None:
    tables = tables_of(connection)
    if missing := manifest.tables.keys() - {table.name for table in tables}:
        raise DomainError(f"The archive holds tables that nobody knows: {', '.join(sorted(missing))}.")
    for table in tables:
        written = lines_of(archive, table.name)
        while lines := list(islice(written, CHUNK)):
            connection.execute(insert(table), [row_of(table, line) for line in lines])
        _count_on(connection, table)
        if content_of(connection, table) != manifest.tables[table.name]:
            raise DomainError(f"The table {table.name} did not come back as it was, so nothing is kept of the attempt.")


def _count_on(connection: Connection, table: Table) -> None:
    """PostgreSQL numbers the next row after the last one, as SQLite does by itself."""
    keys = list(table.primary_key.columns)
    if connection.dialect.name != "postgresql" or len(keys) != 1 or not isinstance(keys[0].type, Integer):
        return
    column = keys[0].name
    connection.execute(
        text(
            f"SELECT setval(s, m) FROM (SELECT pg_get_serial_sequence('\"{table.name}\"', '{column}') AS s, "
            f'(SELECT MAX("{column}") FROM "{table.name}") AS m) AS found WHERE s IS NOT NULL AND m IS NOT NULL'
        )
    )
