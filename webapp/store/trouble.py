"""What can be wrong with the database as such, apart from the statements that it is given."""

from __future__ import annotations

import random
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TypeVar

from sqlalchemy.engine import URL
from sqlalchemy.exc import DataError, DBAPIError, IntegrityError

from domain.errors import DomainError

T = TypeVar("T")

BUSY_TIMEOUT_MS = 10_000
"""How long a writer waits for the writer before it."""

TRIES = 5
"""How often a transaction is run before a conflict counts as a failure."""

TOO_LARGE = "A number that was sent is too large to be kept. Nothing was changed; type a smaller one."

SERIALIZATION_FAILURE, DEADLOCK, LOCK_NOT_AVAILABLE = "40001", "40P01", "55P03"
OUT_OF_RANGE = "22003"
GONE = ("08", "28", "3D", "57P", "53300")
"""no connection, not let in, no such database, server stops or starts, too many connections"""


class Unavailable(Exception):
    """The database does not answer, or its address is wrong; the message says it in words."""


@contextmanager
def told(address: URL) -> Iterator[None]:
    """Raises ``Unavailable`` for what is wrong with the database as such, ``DomainError`` for numbers that are larger
    than their columns."""
    try:
        yield
    except DataError as error:
        if _code(error) == OUT_OF_RANGE:
            raise DomainError(TOO_LARGE) from error
        raise
    except DBAPIError as error:
        trouble = _trouble(address, error)
        if trouble:
            raise Unavailable(trouble) from error
        raise


def was_in_conflict(error: BaseException) -> bool:
    """Whether PostgreSQL gave a transaction up because of another one, and would take it again."""
    return isinstance(error, DBAPIError) and _code(error) in (SERIALIZATION_FAILURE, DEADLOCK)


def pause_before(attempt: int) -> float:
    """Seconds to wait before the attempt of this number, so that two who collided do not meet again."""
    return random.uniform(0.01, 0.02 * 2**attempt)


def again(work: Callable[[], T]) -> T:
    """What ``work`` returns, which is run from its beginning again (``TRIES`` times at most) where its
    transaction was in conflict with another. What it does beside the database must bear that."""
    for attempt in range(1, TRIES):
        try:
            return work()
        except DBAPIError as error:
            if not was_in_conflict(error):
                raise
        time.sleep(pause_before(attempt))
    return work()


def broken_rule(error: IntegrityError) -> str:
    """The name of the rule that the database found broken: a constraint's, or what SQLite says instead."""
    diagnosis = getattr(error.orig, "diag", None)
    name = diagnosis.constraint_name if diagnosis else str(error.orig).rpartition(":")[2].strip()
    return (name or str(error.orig)).removeprefix("ck_")


def _trouble(address: URL, error: DBAPIError) -> str:
    """Empty where the statement was at fault."""
    code, said = _code(error), " ".join(str(error.orig).split())
    if code == LOCK_NOT_AVAILABLE or "database is locked" in said:
        return f"The database has been busy with another change for {BUSY_TIMEOUT_MS // 1000} seconds."
    if address.get_backend_name() == "sqlite":
        broken = error.statement is None or any(word in said for word in ("disk", "malformed", "not a database"))
        return f"The database file {address.database} cannot be used: {said}." if broken else ""
    if error.connection_invalidated or (code or "08").startswith(GONE):
        return f"The database {address!r} does not answer: {said}"
    return ""


def _code(error: DBAPIError) -> str | None:
    """The standard five-letter code of what PostgreSQL complains about."""
    code = getattr(error.orig, "sqlstate", None)
    return code if isinstance(code, str) else None
