"""The complete shop as one file: every row of every table, readable without Castweek and the same from both databases.

A ZIP file with ``manifest.json`` (the revision of the tables; for each table its rows and the SHA-256 of its
file) and ``tables/NAME.jsonl``, one JSON object a row, with the values as the database holds them: whole
base units, days and moments in ISO 8601. Tables are looked at as they are and not as this program knows
them, so that one of an older revision is written whole, too.
"""

from __future__ import annotations

import base64
import hashlib
import json
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime
from importlib.metadata import version
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, LargeBinary, MetaData, Select, String, Table, collate, inspect, select, text

from domain.errors import DomainError
from webapp.store.engine import Database
from webapp.store.whole_files import put_whole

FORMAT = "castweek archive"
VERSION = 1
REVISIONS = "alembic_version"
NO_CONTENT = (REVISIONS, "data_stamp")
"""tables that say nothing of the shop"""
LARGEST_MANIFEST = 1_000_000
CHUNK = 2000


@dataclass(frozen=True, slots=True)
class Content:
    """Of one table: how many rows, and the SHA-256 of them as written."""

    rows: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Manifest:
    """``revision``: of the tables when it was written. ``made_at``: in UTC."""

    revision: str
    made_at: datetime
    made_by: str
    tables: dict[str, Content]

    @property
    def rows(self) -> int:
        return sum(content.rows for content in self.tables.values())


def write_archive(db: Database, target: Path) -> Manifest:
    """Writes all that is in the database, as it is at one moment, to a new file that only this user may read,
    and reads it back. Raises ``DomainError``; there is then no such file."""
    if target.exists():
        raise DomainError(f"{target} is there already, and a copy never overwrites anything. Choose another name.")
    manifest: list[Manifest] = []

    def make(part: Path) -> None:
        with part.open("wb") as file:
            _write(db, file)
        manifest.append(check_archive(part))

    put_whole(target, make)
    return manifest[0]


def check_archive(path: Path) -> Manifest:
    """Reads the whole archive and compares it with its own manifest. Raises ``DomainError`` in words."""
    with opened(path) as archive:
        manifest = manifest_in(archive)
        for name, content in manifest.tables.items():
            digest, rows = hashlib.sha256(), 0
            for line in lines_of(archive, name):
                digest.update(line)
                rows += 1
            if Content(rows, digest.hexdigest()) != content:
                raise DomainError(f"The archive is damaged: its table {name} is not what was written. Take an older copy.")
    return manifest


def opened(path: Path) -> zipfile.ZipFile:
    try:
        return zipfile.ZipFile(path)
    except FileNotFoundError:
        raise DomainError(f"There is no file {path}.") from None
    except (OSError, zipfile.BadZipFile) as error:
        raise DomainError(f"{path} cannot be read as an archive of Castweek: {error}.") from None


def manifest_in(archive: zipfile.ZipFile) -> Manifest:
    try:
        if archive.getinfo("manifest.json").file_size > LARGEST_MANIFEST:
            raise DomainError("This is no archive of Castweek: its manifest is too large.")
        told = json.loads(archive.read("manifest.json"))
        if told["format"] != FORMAT:
            raise KeyError(FORMAT)
        if told["version"] > VERSION:
            raise DomainError("This archive was written by a newer Castweek. Install that one, then restore.")
        tables = {name: Content(int(said["rows"]), str(said["sha256"])) for name, said in told["tables"].items()}
        return Manifest(str(told["revision"]), datetime.fromisoformat(told["made_at"]), str(told["made_by"]), tables)
    except (KeyError, TypeError, ValueError, AttributeError, zipfile.BadZipFile):
        raise DomainError("This is no archive of Castweek: it has no manifest that can be read.") from None


def lines_of(archive: zipfile.ZipFile, table: str) -> Iterator[bytes]:
    """The rows of a table as they were written, each with its end of line."""
    try:
        with archive.open(f"tables/{table}.jsonl") as file:
            yield from file
    except (KeyError, zipfile.BadZipFile, EOFError, OSError):
        raise DomainError(f"The archive is damaged: its table {table} cannot be read. Take an older copy.") from None


def revision_of(connection: Connection) -> str:
    """The revision of the tables that are there; empty where there are none."""
    if not inspect(connection).has_table(REVISIONS):
        return ""
    return str(connection.execute(text(f"SELECT version_num FROM {REVISIONS}")).scalar() or "")


def tables_of(connection: Connection) -> list[Table]:
    """The tables of the shop as they are, each after those that it refers to."""
    found = MetaData()
    found.reflect(connection)
    return [table for table in found.sorted_tables if table.name not in NO_CONTENT]


def content_of(connection: Connection, table: Table) -> Content:
    digest, rows = hashlib.sha256(), 0
    for line in written_rows(connection, table):
        digest.update(line)
        rows += 1
    return Content(rows, digest.hexdigest())


def written_rows(connection: Connection, table: Table) -> Iterator[bytes]:
    """The rows as an archive has them, in the order of their key, which is the same on both databases."""
    # given with the statement: options of a connection stay on it, and PostgreSQL then refuses to insert many rows
    found = connection.execute(_in_order(connection, table), execution_options={"yield_per": CHUNK})
    for row in found.mappings():
        values = {name: _plain(value) for name, value in row.items()}
        yield json.dumps(values, ensure_ascii=False, separators=(",", ":")).encode() + b"\n"


def row_of(table: Table, line: bytes) -> dict[str, Any]:
    """A written row as the database takes it."""
    values = json.loads(line)
    return {name: _value(table, name, value) for name, value in values.items()}


def _write(db: Database, file: Any) -> None:
    tables: dict[str, Content] = {}
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive, db.read() as session:
        connection = session.connection()
        for table in tables_of(connection):
            tables[table.name] = _write_table(archive, connection, table)
        told = {
            "format": FORMAT,
            "version": VERSION,
            "revision": revision_of(connection),
            "made_at": datetime.now(UTC).isoformat(timespec="seconds"),
            "made_by": f"castweek {version('castweek')}",
            "tables": {name: {"rows": content.rows, "sha256": content.sha256} for name, content in tables.items()},
        }
        archive.writestr("manifest.json", json.dumps(told, indent=2))


def _write_table(archive: zipfile.ZipFile, connection: Connection, table: Table) -> Content:
    digest, rows = hashlib.sha256(), 0
    with archive.open(f"tables/{table.name}.jsonl", "w", force_zip64=True) as out:
        for line in written_rows(connection, table):
            out.write(line)
            digest.update(line)
            rows += 1
    return Content(rows, digest.hexdigest())


def _in_order(connection: Connection, table: Table) -> Select[Any]:
    key = list(table.primary_key.columns) or list(table.columns)
    by_code_point = connection.dialect.name == "postgresql"
    return select(table).order_by(*(collate(c, "C") if by_code_point and isinstance(c.type, String) else c for c in key))


def _plain(value: Any) -> Any:
    if isinstance(value, date):
        return value.isoformat()
    return base64.b64encode(value).decode() if isinstance(value, bytes) else value


def _value(table: Table, name: str, value: Any) -> Any:
    kind = table.columns[name].type
    if value is None:
        return None
    if isinstance(kind, LargeBinary):
        return base64.b64decode(value)
    made_from = kind.python_type
    if made_from in (date, datetime):
        return made_from.fromisoformat(value)
    return bool(value) if made_from is bool else value
