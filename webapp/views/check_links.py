"""How a flask's checklists stand, in a few words, and where they are worked."""

from __future__ import annotations

from dataclasses import dataclass

from domain.safety.checklist import pause_title
from domain.safety.context import FlaskContext
from domain.safety.gates import Standing
from domain.safety.points import Pause
from domain.saying import Saying, say


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckLink:
    """A checklist as other pages lead to it. ``title``: such as “before lighting the torch”."""

    pause: Pause
    title: str
    href: str
    done: int
    total: int
    holds: bool
    passed: bool

    @property
    def words(self) -> str:
        if self.done == self.total and self.total:
            return say("all {total} ticked", total=self.total)
        ticked = _ticked(self.done, self.total) if self.total else say("its points are not known")
        return say("{ticked}, let pass by a manager", ticked=ticked) if self.passed and not self.holds else ticked


def _ticked(done: int, total: int) -> Saying:
    return say("{done} of {total} ticked", done=done, total=total)


def address_of(flask: str, pause: Pause) -> str:
    return f"/flask/{flask}/check/{pause.name.lower()}"


def title_of(pause: Pause, context: FlaskContext | None) -> Saying:
    return pause_title(pause, context) if context else pause.words


def check_link(flask: str, context: FlaskContext | None, standing: Standing) -> CheckLink:
    return CheckLink(
        pause=standing.pause,
        title=title_of(standing.pause, context),
        href=address_of(flask, standing.pause),
        done=standing.done,
        total=len(standing.states),
        holds=standing.holds_back,
        passed=standing.let_pass or any(s.passed for s in standing.states),
    )
