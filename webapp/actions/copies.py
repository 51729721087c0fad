"""Copies of the complete shop: how many are kept, and one made now."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path

from domain.errors import InvalidValue
from domain.saying import say
from webapp.store.archive import write_archive
from webapp.store.copies import CopyRule, Kind, name_for, save_rule
from webapp.store.engine import Database, Session

MOST_KEPT = 365


def change_rule(session: Session, typed: Mapping[str, str]) -> CopyRule:
    """Raises ``InvalidValue`` for a count that cannot be kept."""
    text = typed.get("keep", "").strip()
    if not (text.isascii() and text.isdecimal() and len(text) < 6 and 1 <= int(text) <= MOST_KEPT):
        raise InvalidValue("keep", say("type a whole number from 1 to {most}", most=MOST_KEPT))
    wanted = CopyRule(daily=typed.get("daily") == "on", keep=int(text))
    save_rule(session, wanted)
    return wanted


def copy_now(db: Database, folder: Path, now: datetime) -> Path:
    """Raises ``DomainError`` where none can be made."""
    target = name_for(db, folder, Kind.HAND, now)
    write_archive(db, target)
    return target
