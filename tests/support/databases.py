"""New databases for tests: SQLite files, or databases on a PostgreSQL server. Each is a copy of another one
or begins with nothing."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable
from itertools import count
from pathlib import Path
from typing import Any, TypeAlias

import psycopg
from sqlalchemy import select
from sqlalchemy.engine import make_url

from webapp.store.engine import Database
from webapp.store.tables import content_tables

NUMBERS = count(1)


class SqliteFiles:
    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def new(self, template: str | None = None) -> str:
        """The address of a new database. Nobody may be connected to the template."""
        folder = self.folder / str(next(NUMBERS))
        folder.mkdir()
        if template is not None:
            shutil.copyfile(template.removeprefix("sqlite:///"), folder / "test.sqlite3")
        return f"sqlite:///{folder / 'test.sqlite3'}"

    def drop(self, url: str) -> None:
        shutil.rmtree(Path(url.removeprefix("sqlite:///")).parent)


class PostgresDatabases:
    """``server``: an address at which databases may be created."""

    def __init__(self, server: str) -> None:
        self.server = make_url(server).set(drivername="postgresql+psycopg")
        plain = self.server.set(drivername="postgresql").render_as_string(hide_password=False)
        self._connection = psycopg.connect(plain, autocommit=True)

    def new(self, template: str | None = None) -> str:
        name = f"castweek_test_{os.getpid()}_{next(NUMBERS)}"
        copied = f' TEMPLATE "{make_url(template).database}"' if template else ""
        self._connection.execute(f'CREATE DATABASE "{name}"{copied}')
        return self.server.set(database=name).render_as_string(hide_password=False)

    def close(self) -> None:
        self._connection.close()

    def drop(self, url: str) -> None:
        self._connection.execute(f'DROP DATABASE IF EXISTS "{make_url(url).database}" WITH (FORCE)')


Databases: TypeAlias = SqliteFiles | PostgresDatabases
NewDatabase: TypeAlias = Callable[[str | None], str]
"""what the fixture ``new_database`` is"""


def rows_of(url: str) -> dict[str, list[Any]]:
    """All rows of all tables, each table's in an order of their own."""
    db = Database(url)
    with db.read() as session:
        rows = {table.name: session.connection().execute(select(table)).all() for table in content_tables()}
    db.close()
    return {name: sorted(map(repr, found)) for name, found in rows.items()}
