"""The database connection: reads cannot write, writes are serial, a commit is on disk."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import make_url
from sqlmodel import Session

__all__ = ["Database", "Session"]

BUSY_TIMEOUT_MS = 10_000


class Database:
    """``with db.read() as session`` for looking, ``with db.write() as session`` for changing.

    A reading transaction refuses to change anything. A writing one takes the write lock at once
    (BEGIN IMMEDIATE), so that what it has read stays true until it commits; it commits when the
    block ends and rolls back when the block raises.
    """

    def __init__(self, url: str) -> None:
        self.url = url
        self.engine = _engine(url)
        self._writer = self.engine.execution_options(writes=True)

    @contextmanager
    def read(self) -> Iterator[Session]:
        with Session(self.engine, expire_on_commit=False, autoflush=False) as session:
            yield session

    @contextmanager
    def write(self) -> Iterator[Session]:
        with Session(self._writer, expire_on_commit=False) as session, session.begin():
            yield session

    def close(self) -> None:
        self.engine.dispose()


def _engine(url: str) -> Engine:
    address = make_url(url)
    if address.get_backend_name() != "sqlite" or not address.database:
        raise ValueError(f"the database must be a SQLite file, such as sqlite:////srv/castweek.sqlite3, not {address!r}")
    Path(address.database).parent.mkdir(parents=True, exist_ok=True)
    engine = create_engine(address, connect_args={"timeout": BUSY_TIMEOUT_MS / 1000})
    event.listen(engine, "connect", _on_connect)
    event.listen(engine, "begin", _on_begin)
    return engine


def _on_connect(connection: Any, _record: Any) -> None:
    # The driver's own transaction handling begins too late and too weakly; _on_begin does it.
    connection.isolation_level = None
    for pragma in ("journal_mode=WAL", "foreign_keys=ON", "synchronous=FULL", f"busy_timeout={BUSY_TIMEOUT_MS}"):
        connection.execute(f"PRAGMA {pragma}")


def _on_begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql(f"PRAGMA query_only={'OFF' if writes else 'ON'}")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
