"""The week that is being tried, until it is kept or given up. It lives in memory: a trial changes nothing."""

from __future__ import annotations

import secrets
import threading
from dataclasses import dataclass, field, replace
from datetime import datetime

from domain.week.side_by_side import Side
from domain.week.what_if import Change


@dataclass(frozen=True, kw_only=True)
class Trial:
    """``asked``: the shop's local time that it was made for; ``base``: the version of the plan that it is
    compared with. ``after``: none while it is being planned."""

    key: str = field(default_factory=lambda: secrets.token_urlsafe(8))
    changes: tuple[Change, ...]
    words: tuple[str, ...]
    asked: datetime
    base: int
    before: Side
    after: Side | None = None


class Trials:
    """One trial for a shop; the planner's watcher and the pages share it."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._trial: Trial | None = None

    @property
    def current(self) -> Trial | None:
        with self._lock:
            return self._trial

    def begin(self, trial: Trial | None) -> None:
        """Takes the place of an earlier one; none where there is none any more."""
        with self._lock:
            self._trial = trial

    def finish(self, key: str, side: Side) -> None:
        """The planner's answer, unless the trial was given up in the meantime."""
        with self._lock:
            if self._trial is not None and self._trial.key == key:
                self._trial = replace(self._trial, after=side)
