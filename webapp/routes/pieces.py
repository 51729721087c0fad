"""Each piece of a flask passed or miscast, the recast of what did not pass, and the last times."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from datetime import date, timedelta
from typing import ClassVar

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, Response

from domain.errors import InvalidValue
from domain.floor.defects import Defect, defects
from domain.floor.times import same_alloy, same_pattern
from domain.saying import say
from domain.shop.jobs import Job
from webapp import reading
from webapp.actions import floor as actions
from webapp.actions.floor import Miscast
from webapp.actions.planning import Desk, load_desk
from webapp.pages import Page, answer, see_other
from webapp.routes.doors import TheWho
from webapp.routes.edge import Db, TheSettings, Typed
from webapp.routes.floor import known, who_did
from webapp.routes.once import Once
from webapp.store import floor, nouns
from webapp.store.engine import Session
from webapp.views import floor as view
from webapp.views.floor import TimeLine

router = APIRouter(prefix="/flask", route_class=Once)
USUAL_DAYS = 7
"""until a recast is due where the old day has passed; common practice, no source"""


@dataclass(frozen=True, kw_only=True)
class PieceLine:
    """Pieces of a job still to be looked at."""

    job: str
    name: str
    left: int


@dataclass(frozen=True, kw_only=True)
class MiscastLine:
    """``name``: what people call the job. ``defect`` with its causes and correction."""

    miscast: Miscast
    name: str
    defect: Defect


@dataclass(frozen=True, kw_only=True)
class PiecesPage(Page):
    template: ClassVar[str] = "floor/pieces.html"
    here: ClassVar[str] = "today"

    flask: str
    out: bool
    passed: tuple[tuple[str, int], ...]
    lines: tuple[PieceLine, ...]
    miscasts: tuple[MiscastLine, ...]
    defects: tuple[Defect, ...]
    typed: dict[str, str]
    errors: dict[str, str]
    key: str


@dataclass(frozen=True, kw_only=True)
class RecastPage(Page):
    """``own``: the lot of the customer's own metal, empty where the job is cast from the shop's."""

    template: ClassVar[str] = "floor/recast.html"
    here: ClassVar[str] = "today"

    flask: str
    line: MiscastLine
    own: str
    typed: dict[str, str]
    errors: dict[str, str]
    key: str


@dataclass(frozen=True, kw_only=True)
class TimesPage(Page):
    """``patterns`` and ``alloys``: what was looked for, with the times that were found."""

    template: ClassVar[str] = "floor/times.html"
    here: ClassVar[str] = "today"

    flask: str
    patterns: tuple[tuple[str, tuple[TimeLine, ...]], ...]
    alloys: tuple[tuple[str, tuple[TimeLine, ...]], ...]


@router.get("/{name}/pieces")
def pieces(request: Request, db: Db, name: str) -> HTMLResponse:
    with db.read() as session:
        return answer(request, _pieces_page(session, name, {}, {}))


@router.post("/{name}/pieces")
def look(request: Request, db: Db, who: TheWho, name: str, typed: Typed) -> Response:
    job, outcome = typed.get("job", ""), typed.get("outcome", "")
    with db.write() as session:
        try:
            count = reading.count(typed.get("pieces", ""), "pieces")
            if outcome == "choose":
                raise InvalidValue("outcome", say("choose passed, or the defect"))
            note, key = typed.get("note", "").strip()[:200], typed.get("key", "")
            actions.look_at(session, name, job, count, outcome, who=who_did(who, typed), note=note, key=key)
        except InvalidValue as error:
            return answer(request, _pieces_page(session, name, typed, {f"{error.field}.{job}": str(error)}), 422)
    return see_other(f"/flask/{name}/pieces", f"{count} of {job}: {'miscast' if outcome else 'passed'}.")


@router.get("/{name}/recast/{row}")
def ask(request: Request, db: Db, settings: TheSettings, name: str, row: int) -> HTMLResponse:
    with db.read() as session:
        found = _miscast(session, name, row)
        typed = _usual(session, load_desk(session, settings), found.miscast)
        return answer(request, _recast_page(session, name, found, typed, {}))


@router.post("/{name}/recast/{row}")
def recast(request: Request, db: Db, settings: TheSettings, who: TheWho, name: str, row: int, typed: Typed) -> Response:
    with db.write() as session:
        found = _miscast(session, name, row)
        try:
            quantity = reading.count(typed.get("quantity", ""), "quantity")
            ready, due = _day(typed, "ready"), _day(typed, "due")
            number = actions.recast(
                session,
                name,
                found.miscast,
                quantity=quantity,
                ready=ready,
                due=due,
                who=who_did(who, typed),
                key=typed.get("key", ""),
            )
        except InvalidValue as error:
            return answer(request, _recast_page(session, name, found, typed, {error.field: str(error)}), 422)
        told = _told(load_desk(session, settings), found.miscast.job, number)
    return see_other(f"/flask/{name}/pieces", told)


@router.get("/{name}/times")
def times(request: Request, db: Db, settings: TheSettings, name: str) -> HTMLResponse:
    with db.read() as session:
        desk = load_desk(session, settings)
        flask = known(desk, name)
        casts = [one for one in floor.casts(session) if one.flask != name]
        past = view.past_casts(casts, floor.looked_at(session, [one.flask for one in casts]))
        jobs = [found for found in nouns.find_all(session, Job, flask.planned.contents).values() if found]
    items = dict.fromkeys(job.item for job in jobs)
    kinds = dict.fromkeys((job.alloy, job.section) for job in jobs)
    names = {alloy.id: alloy.name for alloy in desk.problem.shop.alloys}
    page = TimesPage(
        title=say("Last times: flask {name}", name=name),
        flask=name,
        patterns=tuple((item, view.time_lines(desk.local, same_pattern(past, item))) for item in items),
        alloys=tuple(
            (
                say("{alloy}, {section} section", alloy=names.get(alloy, alloy), section=section),
                view.time_lines(desk.local, same_alloy(past, alloy, section)),
            )
            for alloy, section in kinds
        ),
    )
    return answer(request, page)


def _day(typed: dict[str, str], name: str) -> str:
    try:
        return date.fromisoformat(typed.get(name, "").strip()).isoformat()
    except ValueError:
        raise InvalidValue(name, say("choose a day, such as 2026-03-09")) from None


def _usual(session: Session, desk: Desk, miscast: Miscast) -> dict[str, str]:
    """The old due day where it is still ahead, else a week from today; patterns tomorrow."""
    old, today = nouns.find(session, Job, miscast.job), desk.now.date()
    late = (today + timedelta(days=USUAL_DAYS)).isoformat()
    due = old.due if old is not None and old.due > (today + timedelta(days=1)).isoformat() else late
    return {"quantity": str(miscast.pieces), "due": due, "ready": (today + timedelta(days=1)).isoformat()}


def _miscast(session: Session, name: str, row: int) -> MiscastLine:
    found = next((one for one in actions.miscasts(floor.happened_to(session, name)) if one.row.id == row), None)
    if found is None:
        raise HTTPException(404)
    return _line(session, found)


def _line(session: Session, miscast: Miscast) -> MiscastLine:
    return MiscastLine(miscast=miscast, name=_name(session, miscast.job), defect=view.defect_of(miscast.row))


def _name(session: Session, job: str) -> str:
    found = nouns.find(session, Job, job)
    return f"{job} {found.item}" if found else job


def _told(desk: Desk, old: str, number: str) -> str:
    if number != old:
        return say("{number} casts them again. The next plan finds a place for it.", number=number)
    then = actions.own_metal_missing(desk, old) or say("The next plan finds a place for it.")
    return say("{old} is to cast more, from its customer's own metal. {then}", old=old, then=then)


def _recast_page(session: Session, name: str, line: MiscastLine, typed: dict[str, str], errors: dict[str, str]) -> RecastPage:
    title = say("Cast {job} again", job=line.miscast.job)
    key = typed.get("key") or secrets.token_urlsafe(12)
    job = nouns.find(session, Job, line.miscast.job)
    own = (job.own_metal if job else None) or ""
    return RecastPage(title=title, flask=name, line=line, own=own, typed=typed, errors=errors, key=key)


def _pieces_page(session: Session, name: str, typed: dict[str, str], errors: dict[str, str]) -> PiecesPage:
    standing = floor.happened_to(session, name)
    if not standing and not actions.is_known(session, name):
        raise HTTPException(404)
    left = actions.pieces_left(standing)
    passed = [
        (job, n) for one in floor.looked_at(session, [name]) if not one.readings.get("outcome") for job, n in one.pieces.items()
    ]
    return PiecesPage(
        title=say("Pieces of flask {name}", name=name),
        flask=name,
        out=actions.is_out(standing),
        passed=tuple((_name(session, job), count) for job, count in passed),
        lines=tuple(PieceLine(job=job, name=_name(session, job), left=count) for job, count in left.items()),
        miscasts=tuple(_line(session, one) for one in actions.miscasts(standing)),
        defects=defects(),
        typed=typed,
        errors=errors,
        key=secrets.token_urlsafe(12),
    )
