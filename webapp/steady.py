"""The server's clock: it counts on evenly while the server runs, whoever sets the machine's clock.

Somebody sets the clock of the machine, or the network does, while a flask is in the kiln: what is written
down afterwards must still come after what was written down before, by as much as really went by.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import UTC, datetime, timedelta

_AGO: ContextVar[timedelta] = ContextVar("ago", default=timedelta(0))


def _counted() -> float:
    """Seconds that nobody sets. Where the system can tell, those in which the machine slept count too."""
    return time.clock_gettime(time.CLOCK_BOOTTIME) if hasattr(time, "CLOCK_BOOTTIME") else time.monotonic()


_STARTED, _COUNTED_THEN = datetime.now(UTC), _counted()


def utc_now() -> datetime:
    """This moment."""
    return _STARTED + timedelta(seconds=_counted() - _COUNTED_THEN)


def happened() -> datetime:
    """When that happened which is being written down: now, or before, where a tablet kept it without network."""
    return utc_now() - _AGO.get()


@contextmanager
def ago(past: timedelta) -> Iterator[None]:
    """What is written down within happened so long ago."""
    token = _AGO.set(past)
    try:
        yield
    finally:
        _AGO.reset(token)
