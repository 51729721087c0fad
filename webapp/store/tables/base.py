"""What all tables share: names for constraints, order, versions, archiving."""

from datetime import datetime
from typing import Any, ClassVar

from sqlalchemy import DDL, MetaData, event
from sqlalchemy.orm import object_session
from sqlmodel import Field, SQLModel

from webapp.store.columns import InstantColumn, kept, utc_now

METADATA = MetaData(
    naming_convention={
        "ix": "ix_%(column_0_N_label)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)


class Table(SQLModel):
    """Base of every table."""

    metadata: ClassVar[MetaData] = METADATA


class Kept(Table):
    """A row that people edit. ``position`` keeps the order of a list; ``version`` counts the edits,
    so that a second editor is told; an archived row is out of every list but never gone."""

    position: int = 0
    version: int = 1
    updated_at: datetime = kept(InstantColumn, default_factory=utc_now)
    archived_at: datetime | None = kept(InstantColumn, default=None)


class Entity(Kept):
    id: str = Field(primary_key=True)


@event.listens_for(Kept, "before_update", propagate=True)
def _count_the_edit(_mapper: Any, _connection: Any, row: Kept) -> None:
    session = object_session(row)
    if session is not None and session.is_modified(row):
        row.version += 1
        row.updated_at = utc_now()


def append_only(table: str, unique: tuple[str, ...], dialect: str) -> tuple[str, ...]:
    """The statements that make the database refuse to change or delete rows of a table. SQLite's INSERT OR
    REPLACE deletes without its DELETE triggers, so rows that are there already are looked for as well:
    ``unique`` says when a row of the table stands in the way of a new one."""
    says = f"{table} is append-only"
    if dialect == "sqlite":
        there = " OR ".join(unique)
        changes = (("no_update", "UPDATE", ""), ("no_delete", "DELETE", ""))
        replaces = ("no_replace", "INSERT", f" WHEN EXISTS (SELECT 1 FROM {table} WHERE {there})")
        return tuple(
            f"CREATE TRIGGER {table}_{name} BEFORE {act} ON {table}{when} BEGIN SELECT RAISE(ABORT, '{says}'); END"
            for name, act, when in (*changes, replaces)
        )
    return (
        f"CREATE OR REPLACE FUNCTION {table}_refuse() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{says}' USING ERRCODE = 'integrity_constraint_violation'; END $$",
        f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW EXECUTE FUNCTION {table}_refuse()",
        f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} FOR EACH STATEMENT EXECUTE FUNCTION {table}_refuse()",
    )


def keep_append_only(table: str, *unique: str) -> None:
    """Let the database itself refuse to change or delete rows of a table that is defined already."""
    METADATA.tables[table].info["append_only"] = True
    for dialect in ("sqlite", "postgresql"):
        for statement in append_only(table, unique, dialect):
            event.listen(METADATA.tables[table], "after_create", DDL(statement).execute_if(dialect=dialect))  # type: ignore[no-untyped-call]
