"""Checklists that hold: what of them is open, and keeping a stage from being recorded while it is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from domain.errors import DomainError
from domain.planning.plan import Plan, PlannedFlask
from domain.planning.problem import Problem
from domain.safety.checklist import Point, checklist_together
from domain.safety.gates import GATES, HeldBack, Override, Standing, Ticked, standing
from domain.safety.own_points import PointChange
from domain.safety.points import Pause
from domain.saying import say
from webapp.actions.planning import Desk
from webapp.formats import mass, temperature
from webapp.store import checklists, ticks
from webapp.store.engine import Session
from webapp.views.flask import people_names
from webapp.views.prints import context_of_flask
from webapp.views.week import alloy_name
from webapp.ways import METRIC, within


@dataclass(frozen=True, slots=True, kw_only=True)
class Gate:
    """A checklist before a stage. ``flasks``: those that share it, a load its kiln pause; a tick is kept for
    each. ``made_of``: what they are now, by name."""

    pause: Pause
    flasks: tuple[str, ...]
    points: tuple[Point, ...] | None
    made_of: Mapping[str, str]


def refuse_if_open(session: Session, desk: Desk, flasks: Iterable[str], stage: str) -> None:
    """To be called before ``stage`` is recorded of flasks that have not reached it. Raises ``HeldBack``, with the
    first open point in words, while a checklist before it is not done and no manager let it pass."""
    wanted = [(name, pause) for name in flasks for pause in GATES.get(stage, ())]
    for (name, _), (_, found) in stand_all(session, desk, wanted).items():
        if found.holds_back:
            raise HeldBack(name, stage, found)


def stand_all(session: Session, desk: Desk, wanted: Iterable[tuple[str, Pause]]) -> dict[tuple[str, Pause], tuple[Gate, Standing]]:
    """The gates of flasks and pauses, and how they stand, each looked up once."""
    pairs = tuple(dict.fromkeys(wanted))
    changes = checklists.changes(session) if pairs else ()
    gates = {(name, pause): _gate(desk, changes, name, pause) for name, pause in pairs}
    first = {gate.flasks[0] for gate in gates.values()}
    kept, passed = (ticks.ticks(session, first), ticks.overrides(session, first)) if first else ({}, {})
    return {pair: (gate, _stand(gate, kept, passed)) for pair, gate in gates.items()}


def gate_of(session: Session, desk: Desk, name: str, pause: Pause) -> Gate:
    """Raises ``DomainError`` for a flask that the current plan does not have."""
    return _gate(desk, checklists.changes(session), name, pause)


def _gate(desk: Desk, changes: tuple[PointChange, ...], name: str, pause: Pause) -> Gate:
    flask = desk.plan.flask(name) if desk.plan else None
    if desk.plan is None or flask is None:
        raise DomainError(say("There is no flask {flask} in the current plan.", flask=name))
    sharing = sharers(desk.plan, flask, pause)
    return Gate(
        pause=pause,
        flasks=tuple(f.id for f in sharing),
        points=points_of(desk.problem, sharing, pause, changes),
        made_of=_made_of(desk, flask, sharing, pause),
    )


def stand(session: Session, gate: Gate) -> Standing:
    first = gate.flasks[:1]
    return _stand(gate, ticks.ticks(session, first), ticks.overrides(session, first))


def _stand(
    gate: Gate, kept: Mapping[str, Mapping[Pause, Mapping[str, Ticked]]], passed: Mapping[str, tuple[Override, ...]]
) -> Standing:
    """A load's flasks are ticked together, so any of them tells for all."""
    flask = gate.flasks[0]
    ticked = kept.get(flask, {}).get(gate.pause, {})
    return standing(gate.pause, gate.points, ticked.values(), passed.get(flask, ()), gate.made_of)


def sharers(plan: Plan, flask: PlannedFlask, pause: Pause) -> tuple[PlannedFlask, ...]:
    """The flasks that share a pause: at the kiln those of the load, else the flask alone."""
    load = plan.load(flask.load) if pause is Pause.KILN else None
    together = tuple(f for f in plan.flasks if load is not None and f.id in load.flasks)
    return together or (flask,)


def points_of(
    problem: Problem, flasks: tuple[PlannedFlask, ...], pause: Pause, changes: Iterable[PointChange]
) -> tuple[Point, ...] | None:
    """None where the shop does not keep what the points depend on."""
    contexts = [context_of_flask(problem, flask) for flask in flasks]
    known = [context for context in contexts if context is not None]
    return checklist_together(pause, known, changes) if len(known) == len(contexts) else None


def _made_of(desk: Desk, flask: PlannedFlask, sharing: tuple[PlannedFlask, ...], pause: Pause) -> Mapping[str, str]:
    """Ticks count while this stays the same, whoever reads it: it is kept in metric units."""
    with within(METRIC):
        return _is_made_of(desk, flask, sharing, pause)


def _is_made_of(desk: Desk, flask: PlannedFlask, sharing: tuple[PlannedFlask, ...], pause: Pause) -> Mapping[str, str]:
    if pause is Pause.KILN:
        load = desk.plan.load(flask.load) if desk.plan else None
        kiln = {"kiln": load.kiln, "program": load.program} if load else {}
        return kiln | {f"flask {f.id}": ", ".join(_of_flask(desk.problem, f).values()) for f in sharing}
    made_of = _of_flask(desk.problem, flask)
    if pause in (Pause.MELT, Pause.POUR):
        made_of |= {"the charge": mass(flask.charge), "the people": ", ".join(people_names(desk.problem, flask))}
    return made_of


def _of_flask(problem: Problem, flask: PlannedFlask) -> dict[str, str]:
    machine, size = problem.machine.get(flask.machine), problem.size.get(flask.size)
    kind = problem.investment.get(flask.investment)
    return {
        "what is in it": ", ".join(f"{count} of {job}" for job, count in sorted(flask.contents.items())),
        "the alloy": alloy_name(problem, flask),
        "the flask temperature": temperature(flask.temperature),
        "the machine": machine.name if machine else flask.machine,
        "the size": size.name if size else flask.size,
        "the investment": kind.name if kind else flask.investment,
    }
