"""What people do with a flask: pin it, mark what has happened, move pieces."""

from __future__ import annotations

from dataclasses import dataclass

from domain.errors import DomainError
from domain.floor.stages import ON_THE_WAY
from domain.planning.check import Violation, check
from domain.planning.measure import measure
from domain.planning.plan import Level, Plan
from domain.saying import say
from domain.week.by_hand import moved_and_checked
from domain.week.places import Place, best_places
from domain.week.slots import Slot, best_slots, move_flask
from webapp.actions import floor
from webapp.actions.planning import Desk, load_desk
from webapp.settings import Settings
from webapp.store import flasks, plans
from webapp.store.engine import Database, Session
from webapp.store.flasks import Stage
from webapp.store.week import save_plan

ORDER = ON_THE_WAY


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """``to``: a flask, or none for a new one, which then rides ``load`` where one is named."""

    job: str
    pieces: int
    from_flask: str
    to: str | None
    load: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WantedSlot:
    """``cast_start`` in minutes of today's clock."""

    load: str
    machine: str
    cast_start: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Tried:
    """What the checker says of a move. ``plan``: none where it could not even be worked out, which
    ``trouble`` explains. ``before`` and ``after`` belong together by their order."""

    move: Move
    plan: Plan | None
    trouble: str = ""
    violations: tuple[Violation, ...] = ()
    before: tuple[Level, ...] = ()
    after: tuple[Level, ...] = ()
    new_flask: str = ""

    @property
    def allowed(self) -> bool:
        return self.plan is not None and not self.violations


def try_move(desk: Desk, move: Move) -> Tried:
    """The plan with the pieces moved, checked; nothing is saved."""
    before = desk.open_plan
    try:
        plan, wrong = moved_and_checked(
            desk.problem, before, move.job, move.pieces, move.from_flask, move.to, move.load, sound=desk.findings.sound
        )
    except DomainError as error:
        return Tried(move=move, plan=None, trouble=str(error))
    known = {f.id for f in before.flasks}
    return Tried(
        move=move,
        plan=plan,
        violations=wrong,
        before=measure(desk.problem, before),
        after=plan.levels,
        new_flask=next((f.id for f in plan.flasks if f.id not in known), ""),
    )


def places_for(desk: Desk, move: Move) -> tuple[Place, ...]:
    """The best other places for the pieces, wherever ``move`` would have put them. Raises ``DomainError``
    where the pieces are not there or do not move."""
    return best_places(desk.problem, desk.open_plan, move.job, move.pieces, move.from_flask, sound=desk.findings.sound)


def keep_move(db: Database, settings: Settings, move: Move, version: int) -> Tried:
    """The same, saved as a new plan version where the checker passes it. Raises ``DomainError`` when
    ``version`` is no longer the current plan."""
    with db.write() as session:
        desk = _same_desk(session, settings, version)
        tried = try_move(desk, move)
        if tried.plan is not None and tried.allowed:
            where = move.to or tried.new_flask
            note = say(
                "{pieces} of {job} moved from {from_flask} to {where}",
                pieces=move.pieces,
                job=move.job,
                from_flask=move.from_flask,
                where=where,
            )
            save_plan(session, tried.plan, desk.now, note=note)
        return tried


def _same_desk(session: Session, settings: Settings, version: int) -> Desk:
    desk = load_desk(session, settings)
    if desk.stored is None or desk.stored.version != version:
        raise DomainError(say("There is a newer plan than the one that you looked at. Look at the flask again, then move it."))
    return desk


def slots_for(desk: Desk, flask: str, load: str = "") -> tuple[Slot, ...]:
    """The best other slots for the whole flask, in one load where it is named. Raises ``DomainError`` where it does not move."""
    return best_slots(desk.problem, desk.open_plan, flask, load=load or None, sound=desk.findings.sound)


def keep_slot(db: Database, settings: Settings, flask: str, wanted: WantedSlot, version: int) -> None:
    """The flask in another slot, saved as a new plan version. Raises ``DomainError`` when ``version`` is no
    longer the current plan, the slot is gone, or the checker objects."""
    with db.write() as session:
        desk = _same_desk(session, settings, version)
        plan = move_flask(desk.problem, desk.open_plan, flask, wanted.load, wanted.machine, wanted.cast_start)
        if wrong := check(desk.problem, plan):
            raise DomainError(
                say("This breaks rule {rule}: {message}. Nothing was changed.", rule=wrong[0].rule, message=wrong[0].message)
            )
        save_plan(session, plan, desk.now, note=say("{flask} moved to another slot, in load {load}", flask=flask, load=wanted.load))


def pin(db: Database, flask: str, reason: str) -> None:
    """The flask keeps its place in every plan from now on. Raises ``DomainError`` for one that is
    not in the plan."""
    with db.write() as session:
        _must_be_planned(session, flask)
        flasks.pin(session, flask, reason.strip())


def unpin(db: Database, flask: str) -> None:
    with db.write() as session:
        flasks.unpin(session, flask)


def mark(db: Database, settings: Settings, names: tuple[str, ...], stage: Stage, key: str, who: str = "") -> None:
    """``stage`` has happened to these flasks, without readings. ``key``: made with the form, so that a second press
    of the button counts once. Raises ``DomainError`` when an earlier stage is missing."""
    with db.write() as session:
        floor.record(session, load_desk(session, settings), names, stage, who=who, key=key)


def undo(db: Database, names: tuple[str, ...], stage: Stage, key: str, who: str = "") -> None:
    """Takes ``stage`` back where it is the last that was marked."""
    with db.write() as session:
        _must_be_planned(session, *names)
        floor.undo(session, names, stage, who=who, key=key)


def _must_be_planned(session: Session, *names: str) -> None:
    stored = plans.current_plan(session)
    if stored is None:
        raise DomainError(say("There is no plan yet, so there is no flask to mark."))
    for name in names:
        if stored.plan.flask(name) is None:
            raise DomainError(say("There is no flask {name} in the current plan.", name=name))


def stage_of(text: str) -> Stage:
    """Raises ``DomainError`` for text that is no stage."""
    try:
        return ON_THE_WAY[ON_THE_WAY.index(text)]
    except ValueError:
        raise DomainError(say("“{text}” is not something that happens to a flask.", text=text)) from None
