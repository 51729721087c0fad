"""Working a checklist: ticking a point, signing it, taking a tick back, and letting the work go on with points open."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass

from domain.errors import DomainError, InvalidValue
from domain.safety.gates import LAST_STAGE, LEAST_REASON, LONGEST_REASON, STAGES, UNKNOWN, Standing, State, changes
from domain.safety.own_points import kept_text
from domain.safety.points import Pause
from domain.safety.read_off import read_off
from domain.saying import listed, say
from webapp.actions.gates import Gate, gate_of, stand
from webapp.actions.planning import Desk
from webapp.formats import retold
from webapp.reading import usual_at
from webapp.store import accounts, floor, ticks
from webapp.store.engine import Session


class NotAsRead(DomainError):
    """What somebody read on the form is not what stands now, so nothing was changed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class By:
    """Who does it. ``account``: none where nobody signs in."""

    name: str
    account: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Check:
    """A checklist as it stands. ``closed``: the stage that it stood before, where that is recorded already, and
    then it stays as it is."""

    gate: Gate
    standing: Standing
    closed: str = ""


def check_of(session: Session, desk: Desk, name: str, pause: Pause) -> Check:
    """Raises ``DomainError`` for a flask that the current plan does not have."""
    gate, stage = gate_of(session, desk, name, pause), LAST_STAGE[pause]
    closed = stage if stage in floor.stages_of(session, name) else ""
    return Check(gate=gate, standing=stand(session, gate), closed=closed)


def as_read(gate: Gate, states: tuple[State, ...]) -> str:
    """What a form of these points carries, so that what is sent is of what was read."""
    return json.dumps({"points": {s.point.id: s.point.text for s in states}, "made_of": dict(gate.made_of)}, sort_keys=True)


def tick(
    session: Session, desk: Desk, name: str, pause: Pause, point: str, *, reading: str, read: str, by: By, key: str = ""
) -> str:
    """Tick a point of all flasks that share it. Returns what was done, in words. Raises ``NotAsRead`` where the point
    or the flask changed since it was read or somebody ticked it, ``InvalidValue`` for a reading that cannot be."""
    check = _still_open(session, desk, name, pause)
    state = _state(check, point)
    _same(check.gate, {point: state.point.text}, read)
    if state.tick is not None:
        raise NotAsRead(_ticked_already(state.number, state.tick.who, retold(state.tick.reading)))
    if not by.name:
        raise InvalidValue("who", say("choose who ticks"))
    value = read_off(state.point, reading, usual_at(state.point))
    _write(session, check, pause, point, state.point.text, by, key, reading=value)
    if not value:
        return say("Point {number} is ticked.", number=state.number)
    return say("Point {number} is ticked: {reading}.", number=state.number, reading=retold(value))


def sign(session: Session, desk: Desk, name: str, pause: Pause, point: str, *, read: str, by: By, key: str = "") -> str:
    """A second person, who is not the first, signs a tick."""
    if ticks.seen(session, _own(key, name)):
        return say("It is signed.")
    check = _still_open(session, desk, name, pause)
    state = _state(check, point)
    _same(check.gate, {point: state.point.text}, read)
    if state.tick is None:
        raise NotAsRead(
            say("Point {number} is not ticked any more. Tick it first, then another person signs it.", number=state.number)
        )
    if not state.waits:
        raise NotAsRead(say("Point {number} is signed already. Nothing was changed.", number=state.number))
    if not by.name:
        raise InvalidValue("second", say("choose who signs"))
    if _is_first(session, state, by):
        raise InvalidValue("second", say("{who} ticked it; another person looks and signs", who=state.tick.who))
    _write(session, check, pause, point, state.tick.text, by, key, reading=state.tick.reading, second=True)
    return say("Point {number} is signed by {who}.", number=state.number, who=by.name)


def take_back(session: Session, desk: Desk, name: str, pause: Pause, point: str, *, by: By, key: str = "") -> str:
    """The tick no longer stands; both rows are kept."""
    check = _still_open(session, desk, name, pause)
    state = _state(check, point)
    if state.tick is None:
        raise NotAsRead(say("Point {number} is not ticked any more. Nothing was changed.", number=state.number))
    _write(session, check, pause, point, state.tick.text, by, key, ticked=False)
    return say("Point {number} is open again; the tick that was taken back stays in the record.", number=state.number)


def let_pass(session: Session, desk: Desk, name: str, pause: Pause, *, reason: str, read: str, by: By, key: str = "") -> str:
    """A manager lets the work go on with what is open. Raises ``InvalidValue`` for a reason that says nothing."""
    check = _still_open(session, desk, name, pause)
    if not check.standing.holds_back:
        raise NotAsRead(say("Nothing holds the work back any more, so nothing was let pass."))
    points = {s.point.id: s.point.text for s in check.standing.open} or {UNKNOWN: "the points are not known"}
    _same(check.gate, {} if UNKNOWN in points else points, read)
    why = " ".join(reason.split())
    if len(why) < LEAST_REASON:
        raise InvalidValue("reason", say("say why in at least {least} letters; it is kept with the flask", least=LEAST_REASON))
    if len(why) > LONGEST_REASON:
        raise InvalidValue("reason", say("has {number} letters; at most {most}", number=len(why), most=LONGEST_REASON))
    if not by.name:
        raise InvalidValue("manager", say("choose who lets it pass"))
    for flask in check.gate.flasks:
        ticks.override(session, flask, pause, why, points, made_of=check.gate.made_of, who=by.name, key=_own(key, flask))
    return say("{who} lets the work go on. The reason is kept with the flask.", who=by.name)


def _write(
    session: Session,
    check: Check,
    pause: Pause,
    point: str,
    text: str,
    by: By,
    key: str,
    *,
    reading: str = "",
    ticked: bool = True,
    second: bool = False,
) -> None:
    """A row for each flask that shares the checklist."""
    for flask in check.gate.flasks:
        ticks.tick(
            session,
            flask,
            pause,
            point,
            text,
            made_of=check.gate.made_of,
            reading=reading,
            who=by.name,
            account=by.account,
            ticked=ticked,
            second=second,
            key=_own(key, flask),
        )


def _own(key: str, flask: str) -> str:
    return f"{key}/{flask}" if key else ""


def _ticked_already(number: int, who: str, reading: str) -> str:
    if not reading:
        return say("Point {number} was ticked already by {who}. Nothing was changed.", number=number, who=who)
    return say(
        "Point {number} was ticked already by {who}: {reading}. Nothing was changed.", number=number, who=who, reading=reading
    )


def _still_open(session: Session, desk: Desk, name: str, pause: Pause) -> Check:
    check = check_of(session, desk, name, pause)
    if check.closed:
        raise NotAsRead(
            say(
                "{flask} is {stage} already, so its checklist stays as it was. Nothing was changed.",
                flask=name,
                stage=STAGES[check.closed],
            )
        )
    return check


def _state(check: Check, point: str) -> State:
    found = next((state for state in check.standing.states if state.point.id == point), None)
    if found is None:
        raise NotAsRead(say("This point is not asked of this flask any more. Nothing was changed."))
    return found


def _same(gate: Gate, points: Mapping[str, str], read: str) -> None:
    """Raises ``NotAsRead``, with what changed, where the flask or the words of a point are not those that were read."""
    then_points, then_made = _read_back(read)
    told = list(changes(then_made, gate.made_of))
    told += [
        say("the point read “{then}” and reads “{now}” now", then=kept_text(point, then_points[point]), now=text)
        if point in then_points
        else say("also open is “{text}”", text=text)
        for point, text in points.items()
        if then_points.get(point) != text
    ]
    if told:
        raise NotAsRead(
            say(
                "It changed since this was read: {changes}. Nothing was changed: read it again as it is now.",
                changes=listed(told, "; "),
            )
        )


def _read_back(read: str) -> tuple[dict[str, str], dict[str, str]]:
    try:
        found = json.loads(read)
        points, made_of = found["points"], found["made_of"]
        return {str(k): str(v) for k, v in points.items()}, {str(k): str(v) for k, v in made_of.items()}
    except (ValueError, KeyError, TypeError, AttributeError):
        raise NotAsRead(say("The form does not say what was read. Nothing was changed: open the checklist again.")) from None


def _is_first(session: Session, state: State, by: By) -> bool:
    """The same name, the same account, or another account of the same person."""
    assert state.tick is not None  # somebody ticked what waits for a signature
    if by.account is None or state.tick.account is None:
        return by.name.casefold() == state.tick.who.casefold()
    one, other = accounts.account(session, state.tick.account), accounts.account(session, by.account)
    return by.account == state.tick.account or (
        one is not None and other is not None and one.person is not None and one.person == other.person
    )
