"""Which checklists stand before which stage of a flask, and what is still open in them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from domain.errors import DomainError
from domain.safety.checklist import Point
from domain.safety.own_points import kept_text
from domain.safety.points import Pause
from domain.saying import Saying, listed, say

GATES: Mapping[str, tuple[Pause, ...]] = {
    "invested": (Pause.INVEST,),
    "started": (Pause.KILN,),
    "cast": (Pause.MELT, Pause.POUR),
    "quenched": (Pause.QUENCH,),
    "knocked out": (Pause.QUENCH,),
}
"""By stage: the pauses whose required points are ticked before it. A stage without an entry has none."""

LAST_STAGE: Mapping[Pause, str] = {pause: stage for stage, pauses in GATES.items() for pause in pauses}
"""By pause: the stage with which its checklist is closed."""

STAGES: Mapping[str, Saying] = {
    "invested": say("invested"),
    "started": say("started"),
    "cast": say("cast"),
    "quenched": say("quenched"),
    "knocked out": say("knocked out"),
}
"""By stage: how it is called."""

_NAMES: Mapping[str, Saying] = {
    "kiln": say("kiln"),
    "program": say("program"),
    "the charge": say("the charge"),
    "the people": say("the people"),
    "what is in it": say("what is in it"),
    "the alloy": say("the alloy"),
    "the flask temperature": say("the flask temperature"),
    "the machine": say("the machine"),
    "the size": say("the size"),
    "the investment": say("the investment"),
}
"""What a flask is made of, as it is kept, and how it is called."""

UNKNOWN = "unknown"
"""What a manager lets pass where the points of a flask are not known."""
LEAST_REASON, LONGEST_REASON = 10, 300
"""Characters of a reason for going on with points open."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ticked:
    """A point that was ticked. ``text`` and ``reading`` as they were that day; ``made_of``: what the flask was
    then, by name. ``second``: who signed it besides, empty where nobody has yet. Moments in UTC."""

    point: str
    text: str
    reading: str
    who: str
    account: int | None
    at: datetime
    made_of: Mapping[str, str]
    second: str = ""
    second_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Override:
    """A manager let the work go on. ``points``: those that were open then, with their texts."""

    pause: Pause
    reason: str
    who: str
    at: datetime
    points: Mapping[str, str]
    made_of: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """One point as it stands. ``number`` counts from 1. ``tick`` counts; ``void``: why an earlier one does not
    any more, in words. ``passed``: a manager let it pass."""

    point: Point
    number: int
    tick: Ticked | None = None
    void: str = ""
    passed: bool = False

    @property
    def done(self) -> bool:
        return self.tick is not None and not self.waits

    @property
    def waits(self) -> bool:
        """Whether it is ticked, and a second person has not signed it."""
        return self.tick is not None and self.point.second and not self.tick.second

    @property
    def holds_back(self) -> bool:
        return self.point.required and not self.done and not self.passed


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """A pause as it stands. ``known``: false where the shop does not keep what its points depend on, and then
    it holds the work back unless a manager ``let_pass``."""

    pause: Pause
    states: tuple[State, ...]
    known: bool = True
    let_pass: bool = False

    @property
    def open(self) -> tuple[State, ...]:
        """What holds the work back."""
        return tuple(s for s in self.states if s.holds_back)

    @property
    def holds_back(self) -> bool:
        return bool(self.open) or (not self.known and not self.let_pass)

    @property
    def next(self) -> State | None:
        """Where to go on after an interruption: the first point that is not done."""
        return next((s for s in self.states if not s.done and not s.passed), None)

    @property
    def done(self) -> int:
        return sum(s.done for s in self.states)


class HeldBack(DomainError):
    """A checklist keeps a stage from being recorded. ``flask`` and ``pause``: where to go on. ``open``: what is
    open, as number and text."""

    def __init__(self, flask: str, stage: str, standing: Standing) -> None:
        super().__init__(_words(flask, stage, standing))
        self.flask = flask
        self.pause = standing.pause
        self.open = tuple((state.number, state.point.text) for state in standing.open)


def _words(flask: str, stage: str, standing: Standing) -> str:
    called = STAGES.get(stage, stage)
    if not standing.known:
        return say(
            "{flask} cannot be marked {stage} yet. "
            "The shop no longer keeps its alloy, machine, size or investment, so its checklist is not known.",
            flask=flask,
            stage=called,
        )
    first = standing.open[0]
    if first.waits:
        told = say("point {number} waits for a second person: “{text}”", number=first.number, text=first.point.text)
    else:
        told = say("point {number} is open: “{text}”", number=first.number, text=first.point.text)
    return say(
        "{flask} cannot be marked {stage} yet. The checklist {pause} is not done: {told}",
        flask=flask,
        stage=called,
        pause=standing.pause.words,
        told=told,
    )


def standing(
    pause: Pause,
    points: tuple[Point, ...] | None,
    ticks: Iterable[Ticked],
    overrides: Iterable[Override],
    made_of: Mapping[str, str],
) -> Standing:
    """``points``: none where they are not known. Ticks and overrides count for the flask as ``made_of`` says it
    is, and ticks for the words that were read."""
    last = {tick.point: tick for tick in ticks}
    passed = {point for one in overrides if one.pause is pause and one.made_of == made_of for point in one.points}
    states = tuple(
        _state(point, number, last.get(point.id), made_of, point.id in passed) for number, point in enumerate(points or (), 1)
    )
    return Standing(pause=pause, states=states, known=points is not None, let_pass=UNKNOWN in passed)


def _state(point: Point, number: int, tick: Ticked | None, made_of: Mapping[str, str], passed: bool) -> State:
    void = _void(point, tick, made_of) if tick else ""
    return State(point=point, number=number, tick=None if void else tick, void=void, passed=passed)


def _void(point: Point, tick: Ticked, made_of: Mapping[str, str]) -> str:
    changed = changes(tick.made_of, made_of)
    if changed:
        return listed(changed, "; ")
    return "" if tick.text == point.text else say("it read “{text}”", text=kept_text(point.id, tick.text))


def changes(then: Mapping[str, str], now: Mapping[str, str]) -> tuple[Saying, ...]:
    """What is another now, in words."""
    names = dict.fromkeys((*now, *then))
    return tuple(
        say(
            "{name} was {then} and is {now} now",
            name=_named(name),
            then=then.get(name) or say("nothing"),
            now=now.get(name) or say("nothing"),
        )
        for name in names
        if then.get(name, "") != now.get(name, "")
    )


def _named(name: str) -> str:
    flask = name.removeprefix("flask ")
    return say("flask {flask}", flask=flask) if flask != name else _NAMES.get(name, name)
