"""Migrations of the database, run at every start."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config

from webapp.store.engine import Database


def config_for(db: Database) -> Config:
    """Alembic's configuration for this database; no ini file is needed."""
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent))
    config.attributes["db"] = db
    return config


def migrate(db: Database) -> None:
    """Bring the database to the newest revision."""
    command.upgrade(config_for(db), "head")
