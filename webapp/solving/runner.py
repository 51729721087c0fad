"""Starts, watches, stops and keeps: at most one planning process for each shop.

A plan reaches ``keep`` only after the checker has passed it in this process. Whatever goes wrong,
``keep`` is not called and the plan that was there stays.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from enum import StrEnum
from multiprocessing import get_context
from multiprocessing.connection import Connection, wait
from multiprocessing.context import SpawnProcess
from multiprocessing.synchronize import Event
from typing import TypeAlias

from domain.errors import DomainError
from domain.planning.check import check
from domain.planning.measure import changed_flasks
from domain.planning.plan import Plan
from domain.planning.problem import Problem
from domain.saying import say
from domain.stock.week_charges import week_charges
from webapp.solving.child import solve
from webapp.solving.messages import Answer, Ask, Better, Message, Step, Trouble

log = logging.getLogger("castweek.planner")

Work: TypeAlias = Callable[[Ask, Connection, Event], None]
"""What runs in the child; a function that a new process can import."""

Keep: TypeAlias = Callable[[Answer], int]
"""Saves a checked plan and returns its version. A ``DomainError`` says why it cannot be kept."""

STAYS = say("The plan that was there stays.")


class Phase(StrEnum):
    IDLE = "idle"
    RUNNING = "running"
    STOPPING = "stopping"
    DONE = "done"
    FAILED = "failed"


@dataclass(frozen=True, slots=True, kw_only=True)
class SolveState:
    """What a page shows. ``elapsed`` and ``limit`` in seconds; ``version``: the plan it led to."""

    phase: Phase = Phase.IDLE
    limit: float = 0.0
    elapsed: float = 0.0
    step: Step | None = None
    message: str = ""
    version: int | None = None

    @property
    def busy(self) -> bool:
        return self.phase in (Phase.RUNNING, Phase.STOPPING)


class AlreadyPlanning(DomainError):
    """The shop's planner is at work."""


@dataclass(slots=True)
class _Solve:
    """One run; fields that the watcher and the pages share change under the runner's lock."""

    ask: Ask
    keep: Keep
    process: SpawnProcess
    pipe: Connection
    stop: Event | None
    started: float
    state: SolveState
    best: Answer | None = None
    stop_by: float | None = None
    dropped: bool = False
    done: threading.Event = field(default_factory=threading.Event)


def weighed_out(problem: Problem, plan: Plan) -> Plan:
    """The plan with its charges and orders. Raises ``DomainError`` where the metal does not suffice."""
    metal = week_charges(problem, plan.flasks)
    if metal.short:
        raise DomainError(
            say("Planning was stopped before the metal was shared out, and it does not suffice as it is. {stays}", stays=STAYS)
        )
    return replace(plan, charges=metal.charges, orders=metal.orders)


def _changed(problem: Problem, plan: Plan) -> str:
    """How much of the plan that people have read is another now."""
    if problem.previous is None or not problem.previous.flasks:
        return ""
    changed = changed_flasks(problem, plan)
    if not changed:
        return say("No flask that people have read was changed.")
    if changed == 1:
        return say("{number} flask that people have read was changed.", number=changed)
    return say("{number} flasks that people have read were changed.", number=changed)


class Runner:
    """``grace``: seconds between the wish to stop and ending the process. ``overrun``: seconds past
    its limit after which a planner is asked to stop. Both leave room for weighing out a large week, which
    follows the search."""

    def __init__(self, work: Work = solve, *, grace: float = 60.0, overrun: float = 60.0) -> None:
        self._work = work
        self._grace = grace
        self._overrun = overrun
        self._lock = threading.Lock()
        self._solves: dict[str, _Solve] = {}
        self._closed = False

    def start(self, shop: str, ask: Ask, keep: Keep) -> SolveState:
        """Begins to plan. Raises ``AlreadyPlanning`` while an earlier run is at work."""
        with self._lock:
            earlier = self._solves.get(shop)
            if self._closed or (earlier is not None and earlier.state.busy):
                raise AlreadyPlanning(say("The week is being planned already; stop that first, or wait for it."))
            solve = self._begin(ask, keep)
            self._solves[shop] = solve
        threading.Thread(target=self._watch, args=(solve,), name=f"solve-{shop}", daemon=True).start()
        return self.state(shop)

    def state(self, shop: str) -> SolveState:
        with self._lock:
            solve = self._solves.get(shop)
            if solve is None:
                return SolveState()
            if solve.state.busy:
                return replace(solve.state, elapsed=time.monotonic() - solve.started)
            return solve.state

    def stop(self, shop: str) -> SolveState:
        """Asks the planner to end with the best plan that it has."""
        with self._lock:
            solve = self._solves.get(shop)
            if solve is not None and solve.state.busy:
                self._ask_to_stop(solve)
        return self.state(shop)

    def wait(self, shop: str, seconds: float) -> SolveState:
        """The state when the run is over, or after ``seconds``."""
        with self._lock:
            solve = self._solves.get(shop)
        if solve is not None:
            solve.done.wait(seconds)
        return self.state(shop)

    def shutdown(self) -> None:
        """Ends every run without keeping its plan; nothing starts any more."""
        with self._lock:
            self._closed = True
            solves = [s for s in self._solves.values() if s.state.busy]
            for solve in solves:
                solve.dropped = True
                if solve.stop is not None:
                    solve.stop.set()
                solve.process.terminate()
        for solve in solves:
            solve.done.wait(5)

    def _begin(self, ask: Ask, keep: Keep) -> _Solve:
        context = get_context("spawn")
        ours, theirs = context.Pipe(duplex=False)
        stop = context.Event()
        process = context.Process(target=self._work, args=(ask, theirs, stop), name="castweek-planner", daemon=True)
        process.start()
        theirs.close()
        state = SolveState(phase=Phase.RUNNING, limit=ask.seconds, step=Step(stage="starting the planner"))
        return _Solve(ask, keep, process, ours, stop, time.monotonic(), state)

    def _ask_to_stop(self, solve: _Solve) -> None:
        if solve.stop_by is None:
            solve.stop_by = time.monotonic() + self._grace
            if solve.stop is not None:
                solve.stop.set()
            solve.state = replace(solve.state, phase=Phase.STOPPING)

    def _watch(self, solve: _Solve) -> None:
        try:
            result = self._finish(solve, self._listen(solve))
        except Exception as error:
            result = self._failure(solve, error)
        finally:
            self._end(solve)
        with self._lock:
            solve.state = replace(result, elapsed=time.monotonic() - solve.started)
        solve.done.set()

    def _listen(self, solve: _Solve) -> Answer:
        """The child's answer, or the best plan it told of when it had to be ended."""
        while True:
            for ready in wait([solve.pipe, solve.process.sentinel], timeout=0.2):
                if ready is not solve.pipe and solve.pipe.poll():
                    continue
                answer = self._heard(solve, self._receive(solve))
                if answer is not None:
                    return answer
            if self._late(solve):
                return self._break_off(solve)

    def _receive(self, solve: _Solve) -> Message:
        if solve.pipe.poll():
            try:
                message: Message = solve.pipe.recv()
                return message
            except EOFError:
                pass
        solve.process.join(5)
        code = solve.process.exitcode
        raise DomainError(
            say(
                "The planner ended without an answer (exit code {code}), perhaps for want of memory. {stays}",
                code=code,
                stays=STAYS,
            )
        )

    def _heard(self, solve: _Solve, message: Message) -> Answer | None:
        if isinstance(message, Answer):
            return message
        if isinstance(message, Trouble):
            log.error("planner failed: %s\n%s", message.said, message.trace)
            raise DomainError(say("{trouble} {stays}", trouble=message.said, stays=STAYS))
        with self._lock:
            if isinstance(message, Better):
                solve.best = Answer(message.plan, message.by_hand)
            else:
                solve.state = replace(solve.state, step=message)
        return None

    def _late(self, solve: _Solve) -> bool:
        """Whether the process has had its grace; asks it to stop when it has had its time."""
        now = time.monotonic()
        with self._lock:
            if solve.stop_by is None and now > solve.started + solve.ask.seconds + self._overrun:
                self._ask_to_stop(solve)
            return solve.stop_by is not None and now > solve.stop_by

    def _break_off(self, solve: _Solve) -> Answer:
        log.warning("planner did not stop within %s s and was ended", self._grace)
        solve.process.terminate()
        if solve.best is None:
            raise DomainError(say("Planning was stopped before there was any plan. {stays}", stays=STAYS))
        return replace(solve.best, plan=weighed_out(solve.ask.problem, solve.best.plan))

    def _finish(self, solve: _Solve, answer: Answer) -> SolveState:
        if solve.dropped:
            return replace(
                solve.state, phase=Phase.FAILED, message=say("The server was stopped while planning. {stays}", stays=STAYS)
            )
        violations = check(solve.ask.problem, answer.plan)
        if violations:
            log.error("planner's plan fails the check: %s", "; ".join(f"{v.rule} {v.where}: {v.message}" for v in violations))
            raise DomainError(
                say(
                    "The planner's plan broke rule {rule} of the shop ({message}). {stays}",
                    rule=violations[0].rule,
                    message=violations[0].message,
                    stays=STAYS,
                )
            )
        version = solve.keep(answer)
        stopped = solve.stop_by is not None
        if stopped:
            ready = say("Plan {version} is ready: the best that was found until planning was stopped.", version=version)
        else:
            ready = say("Plan {version} is ready.", version=version)
        changed = _changed(solve.ask.problem, answer.plan)
        message = say("{ready} {changed}", ready=ready, changed=changed) if changed else ready
        return replace(solve.state, phase=Phase.DONE, message=message, version=version)

    def _failure(self, solve: _Solve, error: Exception) -> SolveState:
        if solve.dropped:
            return replace(
                solve.state, phase=Phase.FAILED, message=say("The server was stopped while planning. {stays}", stays=STAYS)
            )
        log.error("planning failed: %s", error, exc_info=error)
        said = (
            str(error)
            if isinstance(error, DomainError)
            else say("Planning failed; the server's log says why. {stays}", stays=STAYS)
        )
        return replace(solve.state, phase=Phase.FAILED, message=said)

    def _end(self, solve: _Solve) -> None:
        solve.process.join(2)
        if solve.process.is_alive():
            solve.process.terminate()
            solve.process.join(2)
        if solve.process.is_alive():
            solve.process.kill()
            solve.process.join(2)
        solve.pipe.close()
        # Its semaphores are named ones: a server that is ended by a signal would leave them behind.
        with self._lock:
            solve.stop = None
