"""What runs in the planning process."""

from __future__ import annotations

import signal
import traceback
from multiprocessing.connection import Connection
from multiprocessing.synchronize import Event

from domain.errors import DomainError
from domain.saying import say
from webapp.solving.messages import Answer, Ask, Better, Line, Step, Trouble


def solve(ask: Ask, pipe: Connection, stop: Event) -> None:
    """Answers with a plan or with trouble, never with silence."""
    # Ctrl-C in a terminal reaches the whole process group; the server decides what becomes of us.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    line = Line(pipe, stop)
    try:
        line.tell(_answer(ask, line))
    except DomainError as error:
        line.tell(Trouble(str(error), traceback.format_exc()))
    except Exception as error:
        line.tell(
            Trouble(
                say("The planner failed ({name}); the server's log says why.", name=type(error).__name__), traceback.format_exc()
            )
        )


def _answer(ask: Ask, line: Line) -> Answer:
    # What the planner imports takes half a second and much memory; only this process needs it.
    from domain.planning.manager import plan_by_hand
    from domain.week.answer import Progress, plan_week

    by_hand = plan_by_hand(ask.problem).levels

    def tell(progress: Progress) -> None:
        line.tell(Step(stage=progress.stage, levels=progress.levels, flasks=progress.flasks, loads=progress.loads))
        line.tell(Better(progress.plan, by_hand))

    plan = plan_week(
        ask.problem,
        seconds=ask.seconds,
        seed=ask.seed,
        on_progress=tell,
        should_stop=line.should_stop,
        anew=ask.anew,
    )
    return Answer(plan, by_hand)
