"""What no plan can beat, worked out in a thread while the search goes on: the linear solver needs no turn of ours."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, field

from domain.planning.baseline.trees import Trees
from domain.planning.measure import values
from domain.planning.plan import Plan
from domain.planning.search.bounds import week_bounds

WATCH = 0.2
"""Seconds between two looks at the best plan."""


@dataclass
class Beside:
    """``plan``: the best that the search has found. ``rest``: seconds that are left. ``whole``: whole flasks and
    loads are asked for as well, anew for each plan that leaves out less or is less late. ``least``: by level, what
    is known so far."""

    trees: Trees
    plan: Plan
    rest: Callable[[], float]
    whole: bool
    least: dict[str, int]
    _over: threading.Event = field(default_factory=threading.Event)
    _thread: threading.Thread | None = None

    def start(self) -> None:
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def over(self) -> None:
        """The search is: no bound is begun any more."""
        self._over.set()

    def join(self) -> None:
        if self._thread is not None:
            self._thread.join()

    def _run(self) -> None:
        self.least.update(week_bounds(self.trees, self.plan, seconds=self.rest()))
        known: tuple[int, ...] = ()
        while self.whole and not self._over.is_set():
            plan = self.plan
            if values(plan.levels)[:2] == known:
                self._over.wait(WATCH)
            else:
                self.least.update(week_bounds(self.trees, plan, whole=True, seconds=self.rest()))
                known = values(plan.levels)[:2]
