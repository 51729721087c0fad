"""What runs in the planning process."""

from __future__ import annotations

import signal
import traceback
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Event

from domain.errors import DomainError
from domain.planning.plan import Plan
from webapp.solving.messages import Answer, Ask, Line, Step, Trouble


def solve(ask: Ask, pipe: Connection, stop: Event) -> None:
    """Answers with a plan or with trouble, never with silence."""
    # Ctrl-C in a terminal reaches the whole process group; the server decides what becomes of us.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    line = Line(pipe, stop)
    try:
        line.tell(Answer(_plan(ask, line)))
    except DomainError as error:
        line.tell(Trouble(str(error), traceback.format_exc()))
    except Exception as error:
        line.tell(Trouble(f"The planner failed ({type(error).__name__}); the server's log says why.", traceback.format_exc()))


def _plan(ask: Ask, line: Line) -> Plan:
    # The solvers take half a second and much memory to import; only this process needs them.
    from domain.planning.answer import plan_week

    return plan_week(
        ask.problem,
        seconds=ask.seconds,
        seed=ask.seed,
        on_progress=lambda stage: line.tell(Step(stage=str(stage))),
        should_stop=line.should_stop,
    )
