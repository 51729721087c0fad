"""The day's work: marking it done and taking that back, for a flask or for a whole kiln load."""

from __future__ import annotations

from domain.errors import DomainError
from webapp.actions.flask import mark, stage_of, undo
from webapp.settings import Settings
from webapp.store.engine import Database


def mark_done(db: Database, settings: Settings, flasks: str, stage: str, key: str) -> str:
    """``flasks``: ids with commas between. Returns what was done, in words."""
    names = _names(flasks)
    reached = stage_of(stage)
    mark(db, settings, names, reached, key)
    return f"{', '.join(names)}: {reached}."


def take_back(db: Database, flasks: str, stage: str, key: str) -> str:
    names = _names(flasks)
    reached = stage_of(stage)
    undo(db, names, reached, key)
    return f"{', '.join(names)}: not {reached} any more."


def _names(flasks: str) -> tuple[str, ...]:
    names = tuple(name for name in flasks.split(",") if name)
    if not names:
        raise DomainError("No flask was named, so nothing was marked.")
    return names
