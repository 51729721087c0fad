"""Two weeks side by side, and what the shop has that a manager may try to change."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from domain.planning.plan import PlannedFlask
from domain.saying import say
from domain.shop.jobs import Job
from domain.shop.shop import Shop
from domain.week.side_by_side import Comparison, FlaskPair, Side, side_by_side
from webapp.forms import Choice
from webapp.views.week import LevelLine, level_lines


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelPair:
    """One objective on both sides."""

    before: LevelLine
    after: LevelLine


@dataclass(frozen=True, slots=True, kw_only=True)
class FlaskLook:
    """A flask as the list of moved ones shows it."""

    cast: datetime
    size: str
    kiln: str
    jobs: tuple[tuple[str, int], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MovedFlask:
    """``before``: none where it is new; ``after``: none where it is gone."""

    flask: str
    before: FlaskLook | None
    after: FlaskLook | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoWeeks:
    levels: tuple[LevelPair, ...]
    told: Comparison
    moved: tuple[MovedFlask, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Choices:
    """What each change may concern: keys with their words. ``dark``: kilns that may not run alone;
    ``down``: kilns out of service now or on some days; ``held``: jobs that wait in the archive."""

    dark: tuple[Choice, ...]
    down: tuple[Choice, ...]
    kilns: tuple[Choice, ...]
    sizes: tuple[Choice, ...]
    people: tuple[Choice, ...]
    machines: tuple[Choice, ...]
    alloys: tuple[Choice, ...]
    metals: tuple[Choice, ...]
    held: tuple[Choice, ...]
    jobs: tuple[Choice, ...]


def two_weeks(before: Side, after: Side) -> TwoWeeks:
    told = side_by_side(before, after)
    pairs = (
        level_lines(tuple(a for a, _ in told.levels), {}),
        level_lines(tuple(b for _, b in told.levels), {}),
    )
    return TwoWeeks(
        levels=tuple(LevelPair(before=a, after=b) for a, b in zip(*pairs, strict=True)),
        told=told,
        moved=tuple(_moved(before, after, pair) for pair in told.moved),
    )


def _moved(before: Side, after: Side, pair: FlaskPair) -> MovedFlask:
    return MovedFlask(flask=pair.flask, before=_look(before, pair.before), after=_look(after, pair.after))


def _look(side: Side, flask: PlannedFlask | None) -> FlaskLook | None:
    if flask is None:
        return None
    load = side.plan.load(flask.load)
    kiln = side.problem.kiln.get(load.kiln) if load else None
    size = side.problem.size.get(flask.size)
    return FlaskLook(
        cast=side.problem.clock.local(flask.cast_start),
        size=size.name if size else flask.size,
        kiln=kiln.name if kiln else "",
        jobs=tuple(flask.contents.items()),
    )


def choices(shop: Shop, jobs: tuple[Job, ...], held: tuple[Job, ...]) -> Choices:
    in_service = [k for k in shop.kilns if k.in_service]
    return Choices(
        dark=tuple((k.id, k.name) for k in in_service if not k.unattended),
        down=tuple((k.id, k.name) for k in shop.kilns if not k.in_service or k.outages),
        kilns=tuple((k.id, k.name) for k in in_service),
        sizes=tuple((s.id, say("{size} (owned: {owned})", size=s.name, owned=s.owned)) for s in shop.sizes),
        people=tuple((p.id, p.name) for p in shop.people),
        machines=tuple((m.id, m.name) for m in shop.machines),
        alloys=tuple((a.id, a.name) for a in shop.alloys),
        metals=tuple((m.id, m.name) for m in shop.metals),
        held=_jobs(held),
        jobs=_jobs(jobs),
    )


def _jobs(jobs: tuple[Job, ...]) -> tuple[Choice, ...]:
    return tuple((job.id, f"{job.id} {job.item} ({job.quantity})") for job in jobs)
