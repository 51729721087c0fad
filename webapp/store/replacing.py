"""What replacing the whole week asks of the store: a copy of what was there."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path

from sqlalchemy import insert, select
from sqlalchemy.exc import SQLAlchemyError

from domain.errors import DomainError
from webapp.store.engine import Database
from webapp.store.migrations import migrate
from webapp.store.tables import content_tables


def copy_of(db: Database, folder: Path, now: datetime) -> Path:
    """A whole, checked copy of the database as a SQLite file in ``folder``, as it was when the last change
    was saved; Castweek runs on it as on any other. Raises ``DomainError`` where none can be made."""
    target = _free_name(folder, f"{Path(db.address.database or '').stem}-{now:%Y-%m-%d-%H%M}")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        if db.is_sqlite:
            with closing(sqlite3.connect(db.address.database or "")) as connection:
                connection.execute("VACUUM INTO ?", (str(target),))
        else:
            _write_out(db, target)
        with closing(sqlite3.connect(target)) as copy:
            sound = copy.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    except (sqlite3.Error, SQLAlchemyError, OSError) as error:
        raise DomainError(f"No copy of what is here could be made ({error}), so nothing was changed.") from None
    if not sound:
        raise DomainError("The copy of what is here is damaged, so nothing was changed.")
    return target


def _write_out(db: Database, target: Path) -> None:
    """All rows of another database into a new SQLite file, table by table, each after those it refers to."""
    copy = Database(f"sqlite:///{target}")
    try:
        migrate(copy)
        with db.read() as source, copy.write() as session:
            for table in content_tables():
                rows = [dict(row) for row in source.connection().execute(select(table)).mappings()]
                if rows:
                    session.connection().execute(insert(table), rows)
    finally:
        copy.close()


def _free_name(folder: Path, stem: str) -> Path:
    target, count = folder / f"{stem}.sqlite3", 1
    while target.exists():
        count += 1
        target = folder / f"{stem}-{count}.sqlite3"
    return target
