"""What the planning process tells the server, and what it may be asked."""

from __future__ import annotations

from dataclasses import dataclass
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Event
from typing import TypeAlias

from domain.planning.plan import Level, Plan
from domain.planning.problem import Problem


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """One wish for a plan. ``seconds``: how long the planner may think. ``anew``: what people have read may
    be moved for a cheaper plan."""

    problem: Problem
    seconds: float
    seed: int = 0
    anew: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """How far the planner is: the stage in words and what the best plan so far is worth."""

    stage: str
    levels: tuple[Level, ...] = ()
    flasks: int = 0
    loads: int = 0


@dataclass(frozen=True, slots=True)
class Better:
    """The best plan so far, not weighed out yet; the server keeps it should the process have to be ended."""

    plan: Plan
    by_hand: tuple[Level, ...] = ()


@dataclass(frozen=True, slots=True)
class Answer:
    """``by_hand``: what a careful manager's plan of the same week is worth."""

    plan: Plan
    by_hand: tuple[Level, ...] = ()


@dataclass(frozen=True, slots=True)
class Trouble:
    """The planner raised. ``said``: for the screen; ``trace``: for the log."""

    said: str
    trace: str


Message: TypeAlias = Step | Better | Answer | Trouble


class Line:
    """The child's end: tells steps and plans, hears whether to stop."""

    def __init__(self, pipe: Connection, stop: Event) -> None:
        self._pipe = pipe
        self._stop = stop
        self._alone = False

    def tell(self, message: Message) -> None:
        """Sends, or notes that the server is gone and the work is in vain."""
        try:
            self._pipe.send(message)
        except (BrokenPipeError, OSError):
            self._alone = True

    def should_stop(self) -> bool:
        return self._alone or self._stop.is_set()
