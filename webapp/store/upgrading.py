"""A database of an older Castweek is brought up to date, after a copy of it as it was."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path

from domain.errors import DomainError
from webapp.store.archive import revision_of, write_archive
from webapp.store.copies import Kind, name_for
from webapp.store.engine import Database
from webapp.store.migrations import migrate, revisions
from webapp.store.trouble import Unavailable
from webapp.store.whole_files import put_whole


def current_revision(db: Database) -> str:
    """Empty where there are no tables yet."""
    with db.read() as session:
        return revision_of(session.connection())


def is_current(db: Database) -> bool:
    """Whether the tables are those of this program."""
    return current_revision(db) == revisions()[0]


def bring_up_to_date(db: Database, folder: Path, now: datetime) -> Path | None:
    """The copy that was made before, in ``folder``; none where nothing was there or nothing had to be done. Raises
    ``Unavailable`` where the database is newer than this program or no copy can be made; it is then untouched."""
    revision, copy = current_revision(db), None
    if revision == revisions()[0]:
        return None
    if revision and revision not in revisions():
        raise Unavailable("The database was last used by a newer Castweek. Install that one again; nothing was changed.")
    if revision:
        copy = _copy(db, folder, now)
    migrate(db)
    return copy


def _copy(db: Database, folder: Path, now: datetime) -> Path:
    target = name_for(db, folder, Kind.UPGRADE, now, "sqlite3" if db.is_sqlite else "zip")
    try:
        if db.is_sqlite:
            put_whole(target, lambda part: _copy_file(Path(db.address.database or ""), part))
        else:
            write_archive(db, target)
    except DomainError as error:
        raise Unavailable(f"The database must be brought up to date, and no copy could be made before: {error}") from None
    return target


def _copy_file(source: Path, part: Path) -> None:
    with closing(sqlite3.connect(source)) as here, closing(sqlite3.connect(part)) as there:
        here.backup(there)
        there.execute("PRAGMA journal_mode=DELETE")
        if there.execute("PRAGMA integrity_check").fetchone() != ("ok",):
            raise DomainError("the copy is damaged")
