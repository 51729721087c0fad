"""The folder of copies: their names, which there are, and which daily ones have had their time."""

from __future__ import annotations

import re
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from glob import escape
from pathlib import Path

from webapp.store.engine import Database, Session
from webapp.store.tables import CopyRuleRow

FOLDER = "copies"
STAMP = "%Y-%m-%d-%H%M"
UNFINISHED = 24 * 60 * 60
"""seconds after which nobody is still writing a copy"""


class Kind(StrEnum):
    """Why a copy was made. ``WEEK``: before another week was brought in."""

    DAILY = "daily"
    HAND = "by-hand"
    UPGRADE = "before-upgrade"
    WEEK = ""


@dataclass(frozen=True, slots=True)
class Copy:
    """``made_at``: on the clock of the shop (of the machine, before an upgrade). ``size``: in bytes."""

    path: Path
    kind: Kind
    made_at: datetime
    size: int


@dataclass(frozen=True, slots=True)
class CopyRule:
    """``keep``: how many daily copies stay, 1 to 365."""

    daily: bool = True
    keep: int = 14


def rule(session: Session) -> CopyRule:
    row = session.get(CopyRuleRow, 1)
    return CopyRule() if row is None else CopyRule(row.daily, row.keep)


def save_rule(session: Session, wanted: CopyRule) -> None:
    row = session.get(CopyRuleRow, 1) or CopyRuleRow(id=1)
    row.daily, row.keep = wanted.daily, wanted.keep
    session.add(row)


def name_for(db: Database, folder: Path, kind: Kind, now: datetime, ending: str = "zip") -> Path:
    """A name in ``folder`` that nothing has yet."""
    stem = "-".join(filter(None, (_stem(db), kind.value, now.strftime(STAMP))))
    target, count = folder / f"{stem}.{ending}", 1
    while target.exists():
        count += 1
        target = folder / f"{stem}-{count}.{ending}"
    return target


def copies_in(db: Database, folder: Path) -> tuple[Copy, ...]:
    """Those of this database, the newest first."""
    kinds = "|".join(kind.value for kind in Kind if kind.value)
    pattern = re.compile(rf"{re.escape(_stem(db))}-(?:({kinds})-)?(\d{{4}}-\d\d-\d\d-\d{{4}})(?:-\d+)?\.(?:zip|sqlite3)")
    found = []
    for path in folder.iterdir() if folder.is_dir() else ():
        match = pattern.fullmatch(path.name)
        if match and path.is_file():
            made_at = datetime.strptime(match[2], STAMP)
            found.append(Copy(path, Kind(match[1] or ""), made_at, path.stat().st_size))
    return tuple(sorted(found, key=lambda copy: (copy.made_at, copy.path.name), reverse=True))


def drop_old(db: Database, folder: Path, keep: int) -> None:
    """Takes away the oldest daily copies above ``keep``; others stay until somebody removes them."""
    daily = [copy for copy in copies_in(db, folder) if copy.kind is Kind.DAILY]
    for copy in daily[keep:]:
        copy.path.unlink(missing_ok=True)


def drop_unfinished(db: Database, folder: Path, now: float) -> None:
    """Takes away what a copy left that was ended in the midst, by a power cut say, a day before ``now`` (in seconds of
    the system's clock) or earlier. What is younger may still be written."""
    for path in folder.glob(f".{escape(_stem(db))}-*.part") if folder.is_dir() else ():
        with suppress(OSError):  # its writer may have finished it or taken it away meanwhile
            if path.stat().st_mtime < now - UNFINISHED:
                path.unlink()


def _stem(db: Database) -> str:
    return Path(db.address.database or "").stem
