"""Alembic's environment. Column types of ours are written into migrations as plain ones, so that a
migration never depends on code that changes later."""

from typing import Any, Literal

from alembic import context
from alembic.autogenerate.api import AutogenContext
from sqlalchemy.types import TypeDecorator

from webapp.store.tables import METADATA


def plain_type(kind: str, thing: Any, _autogen: AutogenContext) -> str | Literal[False]:
    if kind == "type" and isinstance(thing, TypeDecorator):
        return f"sa.{thing.impl_instance!r}"
    return False


def run() -> None:
    with context.config.attributes["engine"].connect() as connection:
        context.configure(
            connection=connection,
            target_metadata=METADATA,
            render_as_batch=True,
            render_item=plain_type,
        )
        with context.begin_transaction():
            context.run_migrations()


run()
