"""Migrations of the database, run at every start."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory

from webapp.store.engine import Database


def config_for(db: Database) -> Config:
    """Alembic's configuration for this database; no ini file is needed."""
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent))
    config.attributes["db"] = db
    return config


def migrate(db: Database, revision: str = "head") -> None:
    """Bring the database to a revision, the newest unless told otherwise."""
    command.upgrade(config_for(db), revision)


@cache
def revisions() -> tuple[str, ...]:
    """Those that this program knows, the newest first."""
    scripts = ScriptDirectory(str(Path(__file__).parent))
    return tuple(script.revision for script in scripts.walk_revisions())
