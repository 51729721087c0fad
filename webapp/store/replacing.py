"""What replacing the whole week asks of the store: a copy of what was there."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path

from sqlalchemy.engine import make_url

from domain.errors import DomainError
from webapp.store.engine import Database


def data_folder(db: Database) -> Path:
    """Where the database file lies."""
    return Path(make_url(db.url).database or "").parent


def copy_of(db: Database, now: datetime) -> Path:
    """A whole, checked copy of the database in the folder ``copies`` beside it, as it was when the
    last change was saved. Raises ``DomainError`` where none can be made."""
    source = Path(make_url(db.url).database or "")
    target = _free_name(source.parent / "copies", f"{source.stem}-{now:%Y-%m-%d-%H%M}")
    try:
        target.parent.mkdir(exist_ok=True)
        with closing(sqlite3.connect(source)) as connection:
            connection.execute("VACUUM INTO ?", (str(target),))
        with closing(sqlite3.connect(target)) as copy:
            sound = copy.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    except (sqlite3.Error, OSError) as error:
        raise DomainError(f"No copy of what is here could be made ({error}), so nothing was changed.") from None
    if not sound:
        raise DomainError("The copy of what is here is damaged, so nothing was changed.")
    return target


def _free_name(folder: Path, stem: str) -> Path:
    target, count = folder / f"{stem}.sqlite3", 1
    while target.exists():
        count += 1
        target = folder / f"{stem}-{count}.sqlite3"
    return target
