"""What was worked out from the data, remembered until the data change.

Whoever sees the same stamp sees the same data, and may recall what was worked out from them, readers and writers
alike. A writer that has changed anything remembers nothing more, because what it sees may not be kept in the end.
"""

from __future__ import annotations

import threading
from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from sqlmodel import Session

from webapp.store.connecting import has_changed_something

MEMORY = "memory"
"""where a session carries it"""


class Memory:
    """One value under each name, with the stamp of the data that it was worked out from."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._kept: dict[str, tuple[int, Any]] = {}
        self.at_work: dict[str, threading.RLock] = defaultdict(threading.RLock)

    def get(self, name: str, stamp: int) -> Any:
        with self._lock:
            known, value = self._kept.get(name, (None, None))
        return value if known == stamp else None

    def latest(self, name: str) -> Any:
        with self._lock:
            return self._kept.get(name, (0, None))[1]

    def put(self, name: str, stamp: int, value: Any) -> None:
        with self._lock:
            self._kept[name] = (stamp, value)


@dataclass(slots=True)
class Recollection:
    """The memory as one session may use it. ``stamp``: of the one moment that a reader sees, once it has looked."""

    memory: Memory
    writes: bool
    stamp: int | None = None


def recalled(session: Session, name: str) -> Any:
    """What was remembered under this name of the very same data; none where nothing was."""
    found = _recollection(session)
    return found.memory.get(name, _stamp(session, found)) if found else None


def latest(session: Session, name: str) -> Any:
    """What was remembered last under this name, perhaps of other data: only to be compared with."""
    found = _recollection(session)
    return found.memory.latest(name) if found else None


def remember(session: Session, name: str, value: Any) -> None:
    """``value`` was worked out from nothing but what this session has read in tables that raise the stamp."""
    found = _recollection(session)
    if found is None:
        return
    stamp = _stamp(session, found)
    if not (found.writes and has_changed_something(session.connection())):
        found.memory.put(name, stamp, value)


@contextmanager
def alone(session: Session, name: str) -> Iterator[None]:
    """Whoever is to work out the same meanwhile waits, and then recalls it. Nobody may wait for a writer within."""
    found = _recollection(session)
    if found is None:
        yield
        return
    with found.memory.at_work[name]:
        yield


def _recollection(session: Session) -> Recollection | None:
    found: Recollection | None = session.info.get(MEMORY)
    return found


def _stamp(session: Session, found: Recollection) -> int:
    if found.stamp is not None:
        return found.stamp
    if found.writes:
        session.flush()
    stamp = int(session.connection().exec_driver_sql("SELECT stamp FROM data_stamp").scalar_one())
    if not found.writes:
        found.stamp = stamp
    return stamp
