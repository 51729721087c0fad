"""Alembic's environment. Column types of ours are written into migrations as plain ones, so that a
migration never depends on code that changes later."""

from typing import Any, Literal

from alembic import context
from alembic.autogenerate.api import AutogenContext
from sqlalchemy.types import TypeDecorator

from webapp.store.engine import Database
from webapp.store.tables import METADATA


def plain_type(kind: str, thing: Any, _autogen: AutogenContext) -> str | Literal[False]:
    if kind == "type" and isinstance(thing, TypeDecorator):
        return f"sa.{thing.impl_instance!r}"
    return False


def run() -> None:
    """All in one transaction, which waits for that of another server that starts at the same time."""
    db: Database = context.config.attributes["db"]
    with db.to_migrate() as connection:
        context.configure(
            connection=connection,
            target_metadata=METADATA,
            render_as_batch=True,
            render_item=plain_type,
        )
        context.run_migrations()


run()
