"""Files that are there whole or not at all, also when the power fails in between."""

from __future__ import annotations

import os
import sqlite3
import tempfile
from collections.abc import Callable
from pathlib import Path

from sqlalchemy.exc import SQLAlchemyError

from domain.errors import DomainError


def put_whole(target: Path, make: Callable[[Path], None]) -> None:
    """``make`` fills a file of another name, which only this user may read; it gets its own name once it is on
    disk. Raises ``DomainError`` where that fails or the name is taken; nothing is then left behind."""
    if target.exists():
        raise DomainError(f"{target} is there already, and a copy never overwrites anything. Choose another name.")
    part: Path | None = None
    try:
        target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.", suffix=".part")
        os.close(handle)
        part = Path(name)
        make(part)
        move_for_good(part, target)
    except (OSError, SQLAlchemyError, sqlite3.Error) as error:
        raise DomainError(f"The copy {target.name} could not be made: {error}") from None
    finally:
        if part is not None:
            part.unlink(missing_ok=True)


def move_for_good(part: Path, target: Path) -> None:
    """Gives a finished file its name, after its content is on disk."""
    with part.open("rb+") as file:
        os.fsync(file.fileno())
    part.rename(target)
    if os.name == "posix":  # elsewhere a folder cannot be opened, and need not be
        folder = os.open(target.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
