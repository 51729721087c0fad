"""What was worked out from the data, remembered until the data change.

A reading session knows it; a writing one neither recalls nor remembers, because what it sees may not be
kept in the end.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass
from typing import Any, TypeAlias

from sqlmodel import Session

Stamp: TypeAlias = int | str
"""another one whenever the data have changed"""

MEMORY = "memory"
"""where a session carries it"""


class Memory:
    """One value under each name, with the stamp of the data that it was worked out from."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._kept: dict[str, tuple[Stamp, Any]] = {}

    def under(self, stamp: Stamp) -> Recollection:
        return Recollection(self, stamp)

    def get(self, name: str, stamp: Stamp) -> Any:
        with self._lock:
            known, value = self._kept.get(name, (None, None))
        return value if known == stamp else None

    def put(self, name: str, stamp: Stamp, value: Any) -> None:
        with self._lock:
            self._kept[name] = (stamp, value)


@dataclass(frozen=True, slots=True)
class Recollection:
    """The memory as one session may use it."""

    memory: Memory
    stamp: Stamp


def recalled(session: Session, name: str) -> Any:
    """What was remembered under this name of the very same data; none where nothing was."""
    found: Recollection | None = session.info.get(MEMORY)
    return found.memory.get(name, found.stamp) if found else None


def remember(session: Session, name: str, value: Any) -> None:
    found: Recollection | None = session.info.get(MEMORY)
    if found:
        found.memory.put(name, found.stamp, value)
