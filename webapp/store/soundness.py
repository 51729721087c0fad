"""Whether the database itself is sound: its pages, its references, and the triggers that keep the record."""

from __future__ import annotations

from sqlalchemy import func, select, text

from webapp.store.engine import Database, Session
from webapp.store.tables import METADATA
from webapp.store.tables.stamp import STAMPED, trigger_names

SHOWN = 5


def damage(session: Session, *, is_sqlite: bool) -> tuple[str, ...]:
    """What is broken in the file or between its tables, in words; nothing where it is sound. On PostgreSQL every
    table is read, and references are counted."""
    if is_sqlite:
        connection = session.connection()
        found = [str(row[0]) for row in connection.execute(text("PRAGMA integrity_check")) if row[0] != "ok"]
        lost = connection.execute(text("PRAGMA foreign_key_check")).all()
        return tuple(found[:SHOWN] + [f"a row of {row[0]} refers to a row of {row[2]} that is not there" for row in lost[:SHOWN]])
    return tuple(_lost_references(session))[:SHOWN]


def _lost_references(session: Session) -> list[str]:
    lost = []
    for table in METADATA.sorted_tables:
        session.connection().execute(select(func.count()).select_from(table))
        for key in table.foreign_keys:
            there = key.column.table.alias("there")
            found = select(1).where(there.c[key.column.name] == key.parent).exists()
            count = select(func.count()).select_from(table).where(key.parent.is_not(None), ~found)
            if number := session.connection().execute(count).scalar():
                lost.append(f"{number} rows of {table.name} refer to a row of {key.column.table.name} that is not there")
    return lost


def missing_guards(session: Session, *, is_sqlite: bool) -> tuple[str, ...]:
    """Triggers that are not there or switched off: of append-only tables, and those that raise the stamp."""
    kinds = ("no_update", "no_delete", "no_replace") if is_sqlite else ("no_change", "no_truncate")
    query = (
        "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        if is_sqlite
        else "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal AND tgenabled <> 'D'"
    )
    there = {str(name) for (name,) in session.connection().execute(text(query))}
    wanted = [f"{table.name}_{kind}" for table in METADATA.sorted_tables if table.info.get("append_only") for kind in kinds]
    dialect = "sqlite" if is_sqlite else "postgresql"
    wanted += [name for table in METADATA.sorted_tables if table.info.get(STAMPED) for name in trigger_names(table.name, dialect)]
    return tuple(name for name in wanted if name not in there)


def newest_entry(db: Database) -> str:
    """The moment of the newest entry of the books in ISO 8601 (UTC), empty where there is none."""
    with db.read() as session:
        return str(session.connection().execute(text("SELECT MAX(at) FROM ledger_entry")).scalar() or "")
