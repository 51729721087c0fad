"""The database connection: reads cannot write, writes are serial, a commit is on disk.

SQLite is the default, PostgreSQL the alternative; what a block may rely on is the same on both.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from sqlalchemy import Connection
from sqlmodel import Session

from webapp.store import connecting
from webapp.store.memory import MEMORY, Memory, Recollection
from webapp.store.trouble import told

__all__ = ["Database", "Session"]

_WHOLE: ContextVar[Session | None] = ContextVar("whole", default=None)
"""The transaction that all blocks within are part of."""


class Database:
    """``with db.read() as session`` for looking, ``with db.write() as session`` for changing.

    A reading transaction sees one moment and refuses to change anything. A writing one takes the write
    lock at once, so that what it has read stays true until it commits; it commits when the block ends
    and rolls back when the block raises. On PostgreSQL it is serializable besides: should somebody else
    write past the lock, ``was_in_conflict`` knows the error, and the block is to be run ``again``; for
    requests the application does so.

    Both raise ``Unavailable`` where the database does not answer.
    """

    def __init__(self, url: str) -> None:
        self.address = connecting.address_of(url)
        self.is_sqlite = self.address.get_backend_name() == "sqlite"
        self.engine = connecting.sqlite(self.address) if self.is_sqlite else connecting.postgresql(self.address)
        self._reader, self._writer = self.engine, self.engine.execution_options(writes=True)
        if not self.is_sqlite:
            self._reader = self.engine.execution_options(isolation_level="REPEATABLE READ", postgresql_readonly=True)
            self._writer = self._writer.execution_options(isolation_level="SERIALIZABLE")
        self._memory = Memory()
        self._watching = threading.Lock()
        self._watcher: Connection | None = None

    @contextmanager
    def read(self) -> Iterator[Session]:
        whole = _WHOLE.get()
        if whole is not None:
            yield whole
            return
        with told(self.address), Session(self._reader, expire_on_commit=False, autoflush=False) as session:
            session.info[MEMORY] = Recollection(self._memory, writes=False)
            yield session

    @contextmanager
    def write(self) -> Iterator[Session]:
        whole = _WHOLE.get()
        if whole is not None:
            with whole.begin_nested():
                yield whole
            return
        with told(self.address), Session(self._writer, expire_on_commit=False) as session, session.begin():
            session.info[MEMORY] = Recollection(self._memory, writes=True)
            yield session

    @contextmanager
    def whole(self) -> Iterator[Session]:
        """One writing transaction around blocks that read and write: they keep what they did, or lose it, together."""
        with self.write() as session:
            token = _WHOLE.set(session)
            try:
                yield session
            finally:
                _WHOLE.reset(token)

    @contextmanager
    def to_migrate(self) -> Iterator[Connection]:
        """A connection for changing the tables, in one transaction that is alone with them."""
        with told(self.address), self.engine.execution_options(migrates=True).begin() as connection:
            yield connection

    def close(self) -> None:
        with self._watching:
            if self._watcher is not None:
                self._watcher.close()
                self._watcher = None
        self.engine.dispose()

    def stamp(self) -> int | str:
        """Another value whenever anybody has changed anything, in this process or in another; cheap enough to be
        asked for each second. PostgreSQL names the transactions that a reader sees, SQLite tells a connection that
        never writes of every commit of the others."""
        if not self.is_sqlite:
            with told(self.address), Session(self._reader) as session:
                return str(session.connection().exec_driver_sql("SELECT pg_current_snapshot()::text").scalar())
        with self._watching:
            if self._watcher is None:
                self._watcher = self.engine.connect()
            cursor = self._watcher.connection.cursor()
            return int(cursor.execute("PRAGMA data_version").fetchone()[0])
