"""A stamp that is another one whenever anything has changed that what is remembered was worked out from.

The database raises it itself, in the transaction of the change, whoever makes it. A tick, a sign-in or an answer that
is kept leaves it alone. It is no content of the shop: copies and archives do not carry it.
"""

from typing import ClassVar

from sqlalchemy import DDL, BigInteger, CheckConstraint, event
from sqlmodel import Field

from webapp.store.columns import kept
from webapp.store.tables.base import METADATA, Table

STAMPED = "stamped"
"""Tables with this mark raise the stamp."""


class DataStamp(Table, table=True):
    """One row. ``stamp``: on SQLite counted up by each row that changes, on PostgreSQL the transaction that changed
    anything last; either way no two states of the data that anybody else can see have the same."""

    __tablename__: ClassVar[str] = "data_stamp"
    __table_args__ = (CheckConstraint("one = 1", name="one_row"),)

    one: int = Field(default=1, primary_key=True, sa_column_kwargs={"autoincrement": False})
    stamp: int = kept(BigInteger, default=0)


def raising(table: str, dialect: str) -> tuple[str, ...]:
    """The statements that let changes of a table raise the stamp. On PostgreSQL a transaction writes it once only:
    the same row changed again and again by one transaction gets slower each time."""
    if dialect == "sqlite":
        return tuple(
            f"CREATE TRIGGER {name} AFTER {act} ON {table} BEGIN UPDATE data_stamp SET stamp = stamp + 1; END"
            for name, act in zip(trigger_names(table, dialect), ("INSERT", "UPDATE", "DELETE"), strict=True)
        )
    return (
        "CREATE OR REPLACE FUNCTION raise_data_stamp() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ DECLARE now bigint = pg_current_xact_id()::text::bigint; "
        "BEGIN UPDATE data_stamp SET stamp = now WHERE stamp <> now; RETURN NULL; END $$",
        f"CREATE TRIGGER {table}_stamped AFTER INSERT OR UPDATE OR DELETE OR TRUNCATE ON {table} "
        "FOR EACH STATEMENT EXECUTE FUNCTION raise_data_stamp()",
    )


def trigger_names(table: str, dialect: str) -> tuple[str, ...]:
    acts = ("_insert", "_update", "_delete") if dialect == "sqlite" else ("",)
    return tuple(f"{table}_stamped{act}" for act in acts)


def let_raise(*tables: str) -> None:
    """Let changes of tables that are defined already raise the stamp."""
    for table in tables:
        METADATA.tables[table].info[STAMPED] = True
        for dialect in ("sqlite", "postgresql"):
            for statement in raising(table, dialect):
                event.listen(METADATA.tables[table], "after_create", DDL(statement).execute_if(dialect=dialect))  # type: ignore[no-untyped-call]


event.listen(METADATA.tables["data_stamp"], "after_create", DDL("INSERT INTO data_stamp (one, stamp) VALUES (1, 0)"))  # type: ignore[no-untyped-call]
