"""Recording a stage in one step, for other software: read, ask what is odd, write down."""

from __future__ import annotations

from collections.abc import Mapping

from domain.errors import DomainError
from domain.floor.stages import Stage
from webapp.actions import floor
from webapp.actions.planning import Desk
from webapp.store.engine import Session


class Wrong(DomainError):
    """``errors``: by reading, what is wrong with it."""

    def __init__(self, errors: Mapping[str, str]) -> None:
        super().__init__("; ".join(f"{name}: {text}" for name, text in errors.items()))
        self.errors = errors


class Unsure(DomainError):
    """Something is odd; ``sure`` is what to say yes to."""

    def __init__(self, sure: str) -> None:
        super().__init__(f"Is that so? {sure}")
        self.sure = sure


class WrittenOtherwise(DomainError):
    """Somebody recorded this stage with other readings; nothing is written over it."""


def record(session: Session, desk: Desk, flask: str, stage: Stage, readings: Mapping[str, str], *, sure: str, who: str) -> str:
    """Returns what was recorded, in words. Raises ``Wrong``, ``Unsure``, ``WrittenOtherwise``, and what recording
    itself raises, ``HeldBack`` among it; nothing is then written."""
    read = floor.read_typed(session, desk, flask, stage, readings)
    if read.errors:
        raise Wrong(read.errors)
    if read.odd and sure != read.sure:
        raise Unsure(read.sure)
    theirs = floor.written_otherwise(session, flask, stage, read.values, "")
    if theirs is not None:
        raise WrittenOtherwise(f"{flask} is marked {stage} already by {theirs.who or 'somebody'}, with other readings.")
    names = floor.together(session, desk, flask, stage)
    floor.record(session, desk, names, stage, read.values, who=who, note=read.sure)
    return f"{', '.join(names)}: {stage}."
