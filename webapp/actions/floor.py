"""What the caster records by doing it: stages with their readings, what is undone, pieces and recasts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from zoneinfo import ZoneInfo

from domain.books.entries import WEIGHED
from domain.errors import DomainError, InvalidValue
from domain.floor.as_planned import cast_as
from domain.floor.asks import Kind, Value, read, written
from domain.floor.defects import PASSED, defect
from domain.floor.stages import OFTEN, ON_THE_WAY, Stage, missing, too_late
from domain.floor.times import CastAs
from domain.floor.work import ELSEWHERE, Before, FloorFlask, Work, floor_flask, not_looked_at, oddities, read_moment, work_for
from domain.planning.plan import PlannedFlask
from domain.saying import listed, say
from domain.shop.jobs import Job
from domain.units import Mass
from domain.week.build import charge_alone
from webapp.actions import jobs, melts, supplies
from webapp.actions.gates import refuse_if_open
from webapp.actions.planning import Desk
from webapp.formats import mass
from webapp.reading import usual_on_the_floor
from webapp.steady import happened as now_or_before
from webapp.store import books, floor, nouns
from webapp.store.engine import Session
from webapp.store.floor import Happened
from webapp.views.flask import common_temperatures, flask_mix


@dataclass(frozen=True, slots=True, kw_only=True)
class Typed:
    """A stage as typed. ``odd``: what is asked about, by field, before it is recorded."""

    values: Mapping[str, Value]
    errors: Mapping[str, str]
    odd: tuple[tuple[str, str], ...]

    @property
    def sure(self) -> str:
        """What somebody says yes to: the same words, or it is asked again."""
        return "; ".join(words for _, words in self.odd)


def planned(desk: Desk, name: str) -> PlannedFlask:
    """Raises ``DomainError`` where there is no such flask in the plan."""
    if desk.plan is None:
        raise DomainError(say("There is no plan yet, so there is no flask to mark."))
    found = desk.plan.flask(name)
    if found is None:
        raise DomainError(say("There is no flask {name} in the current plan.", name=name))
    return found


def on_the_floor(desk: Desk, name: str) -> FloorFlask:
    flask = planned(desk, name)
    assert desk.plan is not None
    mix, allowed = flask_mix(desk.problem, flask), common_temperatures(desk.problem, flask)
    return floor_flask(desk.problem, flask, desk.plan.load(flask.load), mix, allowed)


def before_of(standing: tuple[Happened, ...]) -> dict[Stage, Before]:
    """When each stage that stands was begun."""
    found: dict[Stage, Before] = {}
    for one in standing:
        begun, gloss = one.readings.get("started"), one.readings.get("gloss_off")
        found[one.stage] = Before(
            begun=datetime.fromisoformat(begun) if begun else one.at,
            gloss_off=datetime.fromisoformat(gloss) if gloss else None,
        )
    return found


def read_typed(session: Session, desk: Desk, name: str, stage: Stage, typed: Mapping[str, str]) -> Typed:
    """The fields of a stage as typed."""
    flask, before = on_the_floor(desk, name), before_of(floor.happened_to(session, name))
    work = work_for(flask, stage, before)
    values: dict[str, Value] = {}
    errors: dict[str, str] = {}
    at = now_or_before().astimezone(ZoneInfo(desk.problem.clock.timezone))
    for asked in work.asks:
        text = typed.get(asked.name, "").strip()
        try:
            if text and asked.kind is Kind.MOMENT:
                values[asked.name] = read_moment(asked.name, text, at)
            elif text:
                values[asked.name] = read(asked, text, usual_on_the_floor(), work.choices.get(asked.name, ()))
        except InvalidValue as error:
            errors[asked.name] = str(error)
    errors = {name: text for name, text in work.missing(values).items() if name not in errors} | errors
    odd = () if errors else (*oddities(flask, work, before, values, at), *_crowded(session, flask, work, values))
    return Typed(values=values, errors=errors, odd=odd)


def _crowded(session: Session, flask: FloorFlask, work: Work, values: Mapping[str, Value]) -> tuple[tuple[str, str], ...]:
    """Another flask of the load that was put in the same place, or one that would be left out of the kiln."""
    others = [name for name in (flask.load.flasks if flask.load else ()) if name != flask.planned.id]
    if work.stage is Stage.STARTED:
        outside = [name for name in others if Stage.LOADED not in floor.stages_of(session, name)]
        return tuple(("", say("{name} of this load is not marked loaded and would stay outside", name=name)) for name in outside)
    if work.stage is not Stage.LOADED or values.get("position") == ELSEWHERE:
        return ()
    there = {n: one.readings for n in others for one in floor.happened_to(session, n) if one.stage is Stage.LOADED}
    same = [n for n, r in there.items() if all(r.get(f) == values.get(f) for f in ("kiln", "position"))]
    return tuple(("position", say("{n} is written down as standing there", n=n)) for n in same)


def together(session: Session, desk: Desk, name: str, stage: Stage) -> tuple[str, ...]:
    """The flasks to which a stage happens at once: a kiln starts with all that are in it."""
    load = desk.plan.load(planned(desk, name).load) if desk.plan else None
    if stage is not Stage.STARTED or load is None:
        return (name,)
    inside = [n for n in load.flasks if n != name and floor.stages_of(session, n)[-1:] == (Stage.LOADED,)]
    return (name, *inside)


def record(
    session: Session,
    desk: Desk,
    names: tuple[str, ...],
    stage: Stage,
    values: Mapping[str, Value] | None = None,
    *,
    who: str = "",
    note: str = "",
    key: str = "",
) -> None:
    """``stage`` has happened to these flasks; to those to which it had already, nothing more. ``key``: made with
    the form, so that what is sent twice counts once. Raises ``DomainError`` when an earlier stage is missing, and
    ``HeldBack`` while a checklist before it is open."""
    fresh = []
    for name in names:
        planned(desk, name)
        standing = floor.stages_of(session, name)
        if stage in standing and stage not in OFTEN:
            continue
        if before := missing(stage, standing):
            raise DomainError(say("{name} is not marked {before} yet; mark that first.", name=name, before=say(str(before))))
        if after := too_late(stage, standing):
            raise DomainError(say("{name} is {after} already.", name=name, after=say(str(after))))
        fresh.append(name)
    fresh = [name for name in fresh if not (key and floor.seen(session, f"{key}/{name}"))]
    refuse_if_open(session, desk, fresh, stage)
    does = {Stage.INVESTED: invest, Stage.CAST: cast}
    for name in fresh:
        own = f"{key}/{name}" if key else ""
        if stage in does:
            does[stage](session, desk, name, values or {}, who=who, note=note, key=own)
        else:
            _write(session, desk, name, stage, values or {}, who=who, note=note, key=own)


def written_otherwise(session: Session, flask: str, stage: Stage, values: Mapping[str, Value], key: str) -> Happened | None:
    """What somebody else wrote down of a stage that happens once, where it is not what ``values`` say; none where the
    stage is still to be done, was sent with this ``key`` before, or says the same."""
    if key and floor.seen(session, f"{key}/{flask}"):
        return None
    theirs = next((one for one in floor.happened_to(session, flask) if one.stage is stage), None)
    same = theirs is not None and theirs.readings == {name: written(value) for name, value in values.items()}
    return None if same else theirs


def invest(
    session: Session, desk: Desk, flask: str, values: Mapping[str, Value], *, who: str = "", note: str = "", key: str = ""
) -> bool:
    """The flask is invested. ``values``: ``powder`` and ``liquid`` (Mass) as weighed, where somebody wrote them down.
    False when ``key`` was seen before."""
    return _write(session, desk, flask, Stage.INVESTED, values, who=who, note=note, key=key)


def uninvest(session: Session, flask: str) -> None:
    """What follows when investing is undone, before its counter-entry is written."""


def cast(
    session: Session, desk: Desk, flask: str, values: Mapping[str, Value], *, who: str = "", note: str = "", key: str = ""
) -> bool:
    """The flask is cast; a charge that nobody weighed is written down as planned. False when ``key`` was seen before."""
    fresh = _write(session, desk, flask, Stage.CAST, values, who=who, note=note, key=key)
    if fresh:
        melts.charge_as_planned(session, flask, key=f"{key}/charge" if key else None)
    return fresh


def _write(
    session: Session, desk: Desk, name: str, stage: Stage, values: Mapping[str, Value], *, who: str, note: str, key: str
) -> bool:
    fresh = floor.record(
        session,
        name,
        stage,
        plan_version=desk.version,
        at=now_or_before(),
        who=who or _planned_people(desk, name, stage),
        note=note,
        key=key,
        readings={field: written(value) for field, value in values.items()},
        cast_as=_cast_as(session, desk, name) if stage is Stage.CAST else None,
    )
    if fresh:
        powder = values.get("powder")
        supplies.used(session, desk, name, stage, powder if isinstance(powder, Mass) else None)
    return fresh


def _planned_people(desk: Desk, name: str, stage: Stage) -> str:
    """Who casts it by the plan, where nobody signed in or was chosen."""
    names = {p.id: p.name for p in desk.problem.shop.people}
    people = planned(desk, name).people if stage is Stage.CAST else ()
    return " and ".join(names.get(p, p) for p in people) + (" (as planned)" if people else "")


def _cast_as(session: Session, desk: Desk, name: str) -> CastAs:
    flask = planned(desk, name)
    assert desk.plan is not None  # it holds the flask
    return cast_as(desk.problem, desk.plan, flask, nouns.find_all(session, Job, flask.contents))


def undo(session: Session, names: tuple[str, ...], stage: Stage, *, who: str = "", key: str = "") -> None:
    """Takes ``stage`` back where it is the last that stands; its counter-entry is kept. Raises ``DomainError`` where
    something was written down after it."""
    for name in names:
        own = f"{key}/{name}" if key else ""
        standing = floor.happened_to(session, name)
        if not standing or floor.seen(session, own):
            continue
        last = [one.stage for one in standing if one.stage in ON_THE_WAY][-1:]
        if standing[-1].stage is not stage:
            if last == [stage]:
                raise DomainError(
                    say("{name} is {stage} since; undo that first, in its record.", name=name, stage=say(str(standing[-1].stage)))
                )
            continue
        _take_back(session, standing[-1], who=who, key=own)


def _take_back(session: Session, one: Happened, *, who: str, key: str) -> None:
    if one.stage is Stage.CAST:
        melts.undo_cast(session, one.flask)
    if one.stage is Stage.INVESTED:
        uninvest(session, one.flask)
    supplies.not_used(session, one.flask, one.stage)
    if one.stage is Stage.RECAST:
        _no_recast(session, one.readings)
    floor.take_back(session, one, who=who, key=key)


@dataclass(frozen=True, slots=True, kw_only=True)
class Last:
    """The last step that stands: of the floor's record, or an entry of the books. ``mark`` names it."""

    mark: str
    what: str
    at: datetime
    row: Happened | None = None
    entry: int | None = None


def last_step(session: Session, flask: str) -> Last | None:
    """A charge that was written down as planned goes with its cast, and is no step of its own."""
    steps = [
        Last(mark=f"floor-{one.id}", what=say(str(one.stage)), at=one.at, row=one) for one in floor.happened_to(session, flask)
    ]
    entries = [e for e in melts.books_of(session, flask).standing if e.note != melts.AS_PLANNED and e.kind in WEIGHED]
    steps += [Last(mark=f"books-{e.id}", what=WEIGHED[e.kind], at=e.at, entry=e.id) for e in entries]
    return max(steps, key=lambda step: step.at, default=None)


def undo_last(session: Session, desk: Desk, flask: str, mark: str, *, who: str = "", key: str = "") -> str:
    """Takes the last step back, in the books too where it was weighed. Returns what was undone, in words. Raises
    ``DomainError`` where ``mark`` is not the last step any more."""
    if floor.seen(session, f"{key}/{flask}") or books.with_key(session, f"{key}/{flask}") is not None:
        return say("undone already")
    last = last_step(session, flask)
    if last is None or last.mark != mark:
        raise DomainError(say("Something else was written down for {flask} since; look at its record again.", flask=flask))
    if last.entry is not None:
        melts.take_back(session, last.entry, "undone on the floor", key=f"{key}/{flask}")
    elif last.row is not None and last.row.stage is Stage.STARTED:
        undo(session, _started_with(session, desk, flask), Stage.STARTED, who=who, key=key)
    elif last.row is not None:
        _take_back(session, last.row, who=who, key=f"{key}/{flask}" if key else "")
    return last.what


def _started_with(session: Session, desk: Desk, flask: str) -> tuple[str, ...]:
    load = desk.plan.load(planned(desk, flask).load) if desk.plan else None
    others = [n for n in (load.flasks if load else ()) if n != flask and floor.stages_of(session, n)[-1:] == (Stage.STARTED,)]
    return (flask, *others)


def pieces_left(standing: tuple[Happened, ...]) -> dict[str, int]:
    """Pieces by job that came out and that nobody has looked at; nothing before the knock-out."""
    held = next((one.pieces for one in standing if one.stage is Stage.KNOCKED_OUT), {})
    return not_looked_at(held, (one.pieces for one in standing if one.stage is Stage.LOOKED_AT))


def is_out(standing: tuple[Happened, ...]) -> bool:
    """Whether the flask is knocked out."""
    return any(one.stage is Stage.KNOCKED_OUT for one in standing)


def is_known(session: Session, flask: str) -> bool:
    return melts.is_planned(session, flask) or bool(floor.everything(session, flask))


def look_at(session: Session, flask: str, job: str, pieces: int, outcome: str, *, who: str, note: str, key: str) -> int:
    """So many pieces of a job passed, or are miscast with the defect ``outcome``. Returns the id of the row. Raises
    ``InvalidValue``."""
    standing = floor.happened_to(session, flask)
    again = floor.with_key(session, key)
    if again is not None:
        return again
    if outcome != PASSED:
        defect(outcome)
    left = pieces_left(standing).get(job, 0)
    if not left:
        raise InvalidValue("pieces", say("no piece of {job} out of {flask} is left to look at", job=job, flask=flask))
    if pieces > left:
        raise InvalidValue("pieces", say("{left} of {job} are left to look at, not {pieces}", left=left, job=job, pieces=pieces))
    readings = {"outcome": outcome}
    floor.record(
        session,
        flask,
        Stage.LOOKED_AT,
        at=now_or_before(),
        who=who,
        note=note,
        key=key,
        readings=readings,
        pieces={job: pieces},
    )
    found = floor.happened_to(session, flask)
    return found[-1].id


@dataclass(frozen=True, slots=True, kw_only=True)
class Miscast:
    """Pieces that did not pass. ``recast``: the job that casts them again, empty where there is none yet."""

    row: Happened
    job: str
    pieces: int
    recast: str


def miscasts(standing: tuple[Happened, ...]) -> tuple[Miscast, ...]:
    again = {one.readings.get("of", ""): one.readings.get("recast", "") for one in standing if one.stage is Stage.RECAST}
    bad = [one for one in standing if one.stage is Stage.LOOKED_AT and one.readings.get("outcome")]
    return tuple(
        Miscast(row=one, job=job, pieces=count, recast=again.get(str(one.id), ""))
        for one in bad
        for job, count in one.pieces.items()
    )


def _no_recast(session: Session, readings: Mapping[str, str]) -> None:
    if readings["recast"] == readings["job"]:
        jobs.fewer(session, readings["job"], int(readings["more"]), readings["ready"], readings["due"])
    else:
        jobs.archive(session, readings["recast"])


def recast(
    session: Session, flask: str, miscast: Miscast, *, quantity: int, ready: str, due: str, who: str = "", key: str = ""
) -> str:
    """A new job of the same pattern for miscast pieces, with the old job's priority. Returns its number. A customer's own
    metal is cast for its own job alone: there the old job is to cast more, and its own number comes back. Dates are ISO
    dates. Raises ``DomainError`` where the old job is gone, ``InvalidValue`` for what cannot be."""
    if miscast.recast:
        return miscast.recast
    old = nouns.find(session, Job, miscast.job)
    if old is None:
        raise DomainError(say("There is no job {job} any more, so it cannot be cast again. Take the job in anew.", job=miscast.job))
    readings = {"of": str(miscast.row.id), "job": old.id}
    if old.own_metal:
        jobs.more(session, old, quantity, ready, due)
        readings |= {"recast": old.id, "more": str(quantity), "ready": old.ready, "due": old.due}
    else:
        readings["recast"] = _again(session, flask, miscast, replace(old, quantity=quantity, ready=ready, due=due))
    floor.record(
        session, flask, Stage.RECAST, at=now_or_before(), who=who, key=key, readings=readings, pieces={old.id: miscast.pieces}
    )
    return readings["recast"]


def _again(session: Session, flask: str, miscast: Miscast, old: Job) -> str:
    number = jobs.next_number(session)
    why = defect(miscast.row.readings["outcome"]).name
    notes = f"Recast of {old.id}: {miscast.pieces} out of {flask} miscast ({why})."
    nouns.add(session, replace(old, id=number, notes=f"{notes} {old.notes}".strip()))
    return number


def own_metal_missing(desk: Desk, name: str) -> str:
    """How much of the customer's own metal a job lacks for what is still to be cast of it, in words; empty where there is
    enough, or where it is cast from the shop's."""
    problem = desk.problem
    job = next((one for one in problem.jobs if one.id == name), None)
    own = problem.melt[job.melt].own_lot if job else None
    if job is None or own is None:
        return ""
    weighed = sum(f.contents.get(name, 0) for f in problem.fixed_flasks if f.id in problem.weighed)
    wants = charge_alone(problem.shop, problem.melt[job.melt].alloy, job, max(0, job.quantity - weighed))
    held = {lot.id: lot.mass for lot in problem.lots if lot.id == own or (lot.owner_job == name and lot.mass.base)}
    there = held.pop(own)
    if wants <= there:
        return ""
    others = (say(" Theirs too: lot {lot} with {left}.", lot=lot, left=mass(left, places=1)) for lot, left in held.items())
    other = listed(others, "")
    return say(
        "What is still to cast of it wants {wants}, and lot {own} holds {there}: {missing} are missing. "
        "Ask the customer for more of their metal.{other}",
        wants=mass(wants, places=1),
        own=own,
        there=mass(there, places=1),
        missing=mass(wants - there, places=1),
        other=other,
    )
