"""Jobs: taking them in, changing them, and how they stand in the week."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from enum import StrEnum

from domain.errors import DomainError, InvalidValue
from domain.metallurgy.pattern_metal import piece_metal
from domain.saying import say
from domain.shop.alloy import Alloy
from domain.shop.jobs import Job
from domain.shop.pattern import PatternMaterial
from domain.units import Mass
from webapp.actions import saving
from webapp.actions.saving import Saved
from webapp.exchange.documents import JobDocument
from webapp.forms import read_form
from webapp.store import flasks, models, nouns, plans
from webapp.store.engine import Session
from webapp.store.flasks import Stage
from webapp.store.plans import StoredPlan
from webapp.store.week import pieces_out


class State(StrEnum):
    LATE = "late"
    LEFT_OUT = "cannot be planned"
    UNPLANNED = "not planned yet"
    PLANNED = "planned"
    CAST = "cast"


@dataclass(frozen=True, slots=True, kw_only=True)
class InFlask:
    """``out_on``: the day it is knocked out. ``stage``: what has happened to it, empty for nothing yet."""

    id: str
    pieces: int
    cast_on: date
    out_on: date
    stage: str


@dataclass(frozen=True, slots=True, kw_only=True)
class JobLine:
    """A job as it stands. ``each``/``total``: metal of the pieces alone; none where alloy or material is
    gone. ``open_pieces``: in no flask. ``days_late``: 0 where it is in time as far as it is planned."""

    job: Job
    alloy: str
    each: Mass | None
    total: Mass | None
    flasks: tuple[InFlask, ...]
    open_pieces: int
    days_late: int
    reason: str
    remedy: str
    state: State


def next_number(session: Session) -> str:
    """One more than the highest job number, in the same form: ``J-0041`` after ``J-0040``."""
    ids = [s.key for archived in (False, True) for s in nouns.all_stored(session, Job, archived=archived)]
    numbered = [match for match in (re.fullmatch(r"(.*?)(\d{1,9})", key) for key in ids) if match]
    if not numbered:
        return "J-0001"
    highest = max(numbered, key=lambda match: int(match[2]))
    return f"{highest[1]}{int(highest[2]) + 1:0{len(highest[2])}d}"


def add(session: Session, typed: Mapping[str, str]) -> Saved:
    """Take a job in; without a number of its own it gets the next one."""
    key = typed.get("id", "").strip() or next_number(session)
    read = read_form(JobDocument, typed, {"id": key})
    if read.errors:
        return Saved(key, read.errors)
    saved = take_in(session, read.value)
    if saved.done and typed.get("model"):
        models.attach(session, typed["model"], key)
    return saved


def take_in(session: Session, job: Job) -> Saved:
    return saving.add(session, job, job.id)


def change(session: Session, key: str, typed: Mapping[str, str], version: int) -> Saved:
    """Save an edit. What is already in flasks that do not move is not edited away."""
    read = read_form(JobDocument, typed, {"id": key})
    return Saved(key, read.errors) if read.errors else save(session, read.value, version)


def save(session: Session, job: Job, version: int) -> Saved:
    """What was read as ``version`` becomes ``job``."""
    errors = _against_the_flasks(session, job)
    return Saved(job.id, errors) if errors else saving.change(session, job.id, job, version)


def _against_the_flasks(session: Session, job: Job) -> dict[str, str]:
    held = _held(session, job.id)
    before = nouns.find(session, Job, job.id)
    if not held or before is None:
        return {}
    pieces, where = sum(held.values()), say("in flasks that do not move ({names})", names=", ".join(held))
    errors: dict[str, str] = {}
    if job.quantity < pieces:
        errors["quantity"] = say("{pieces} of them are {where}", pieces=pieces, where=where)
    for field in ("alloy", "section", "material", "size"):
        if getattr(job, field) != getattr(before, field):
            errors[field] = say("cannot change: {pieces} of the pieces are {where}", pieces=pieces, where=where)
    return errors


def _held(session: Session, job: str) -> dict[str, int]:
    """Pieces of a job by flask, in flasks of the current plan that are pinned or have been begun."""
    current = plans.current_plan(session)
    fixed = flasks.happened(session).keys() | flasks.pins(session).keys()
    holding = (f for f in current.plan.flasks if f.id in fixed and job in f.contents) if current else ()
    return {f.id: f.contents[job] for f in holding}


def archive(session: Session, key: str) -> None:
    """Take a job out of the list. Raises ``InvalidValue`` while a flask that does not move holds it,
    unless all of it is knocked out."""
    stages = flasks.stages(session, _held(session, key))
    holding = [flask for flask in _held(session, key) if stages.get(flask) is not Stage.KNOCKED_OUT]
    if holding:
        raise InvalidValue("", say("{names} holds it and does not move (pinned, or begun)", names=", ".join(holding)))
    nouns.archive(session, Job, key)


def more(session: Session, job: Job, pieces: int, ready: str, due: str) -> None:
    """So many pieces more are to be cast of a job; its dates are these from now on. It comes back from the archive."""
    nouns.put(session, replace(job, quantity=job.quantity + pieces, ready=ready, due=due))


def fewer(session: Session, key: str, pieces: int, ready: str, due: str) -> None:
    """Takes ``more`` back, with the dates as they were. Raises ``InvalidValue`` while flasks that do not move hold the
    pieces."""
    job = nouns.find(session, Job, key)
    if job is None or job.quantity <= pieces:
        return
    before = replace(job, quantity=job.quantity - pieces, ready=ready, due=due)
    if errors := _against_the_flasks(session, before):
        raise InvalidValue("quantity", next(iter(errors.values())))
    nouns.put(session, before)


def restore(session: Session, key: str) -> None:
    nouns.restore(session, Job, key)


def metal_of(session: Session, job: Job) -> Mass | None:
    """One piece in metal; none where the alloy or the material is not known."""
    alloy, material = nouns.find(session, Alloy, job.alloy), nouns.find(session, PatternMaterial, job.material)
    if alloy is None or material is None:
        return None
    return piece_metal(job, material.density, alloy.density)


def metal_of_typed(session: Session, typed: Mapping[str, str]) -> tuple[Mass, Mass] | None:
    """Metal of one piece and of all, from a form in the making; none until it can be told. Dates,
    names and the box on the tree do not matter for it."""
    stand_in = {"item": "?", "section": "medium", "ready": "2000-01-01", "due": "2000-01-01", "weight": "1"}
    size = {"size.width": "1 mm", "size.height": "1 mm", "size.reach": "1 mm"}
    own = {name: typed.get(name, "") for name in ("alloy", "material", "quantity", "pattern_mass", "metal_volume")}
    read = read_form(JobDocument, {**stand_in, **size, **own}, {"id": "?"})
    try:
        each = None if read.value is None else metal_of(session, read.value)
    except DomainError:
        return None
    return None if each is None else (each, each.times(read.value.quantity))


def job_lines(session: Session, now: datetime) -> tuple[JobLine, ...]:
    """All jobs that are not archived, as the current plan and the record have them."""
    desk = _Desk(session, now.date())
    return tuple(desk.line(job) for job in nouns.all_of(session, Job))


class _Desk:
    """What the lines of all jobs need, read once."""

    def __init__(self, session: Session, today: date) -> None:
        self.today = today
        self.alloys = {a.id: a for a in nouns.all_of(session, Alloy)}
        self.materials = {m.id: m for m in nouns.all_of(session, PatternMaterial)}
        self.stored = plans.current_plan(session)
        events = flasks.happened(session)
        self.stages = {flask: standing[-1].stage for flask, standing in events.items()}
        planned = {f.id for f in self.stored.plan.flasks} if self.stored else set()
        self.out = pieces_out(standing[-1] for flask, standing in events.items() if flask not in planned)
        self.placed: dict[str, list[InFlask]] = defaultdict(list)
        self.left_out = {left.job: left for left in self.stored.plan.left_out} if self.stored else {}
        if self.stored is not None:
            self._place(self.stored)

    def _place(self, stored: StoredPlan) -> None:
        for flask in sorted(stored.plan.flasks, key=lambda f: f.cast_start):
            cast_on, out_on = stored.clock.day_of(flask.cast_start), stored.clock.day_of(flask.knockout_end)
            stage = str(self.stages.get(flask.id, ""))
            for job, pieces in flask.contents.items():
                self.placed[job].append(InFlask(id=flask.id, pieces=pieces, cast_on=cast_on, out_on=out_on, stage=stage))

    def line(self, job: Job) -> JobLine:
        alloy, material = self.alloys.get(job.alloy), self.materials.get(job.material)
        each = piece_metal(job, material.density, alloy.density) if alloy and material else None
        placed = tuple(self.placed.get(job.id, ()))
        open_pieces = max(0, job.quantity - self.out[job.id] - sum(f.pieces for f in placed))
        left = self.left_out.get(job.id) if open_pieces else None
        late = self._days_late(job, placed, open_pieces)
        return JobLine(
            job=job,
            alloy=alloy.name if alloy else job.alloy,
            each=each,
            total=None if each is None else each.times(job.quantity),
            flasks=placed,
            open_pieces=open_pieces,
            days_late=late,
            reason=left.reason if left else "",
            remedy=left.remedy if left else "",
            state=_state(placed, open_pieces, late, left is not None),
        )

    def _days_late(self, job: Job, placed: tuple[InFlask, ...], open_pieces: int) -> int:
        if all(f.stage == Stage.KNOCKED_OUT for f in placed) and not open_pieces:
            return 0
        days = [f.out_on for f in placed] + ([self.today] if open_pieces else [])
        return max(0, (max(days) - date.fromisoformat(job.due)).days)


def _state(placed: tuple[InFlask, ...], open_pieces: int, days_late: int, left_out: bool) -> State:
    if not open_pieces and all(f.stage == Stage.KNOCKED_OUT for f in placed):
        return State.CAST
    if left_out:
        return State.LEFT_OUT
    if days_late:
        return State.LATE
    return State.UNPLANNED if open_pieces else State.PLANNED
