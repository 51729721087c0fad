"""The metal of one flask: weigh it in, weigh out what it became, put what came back on the shelf."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from domain.books.entries import EntryKind
from domain.errors import InvalidValue
from domain.planning.plan import ChargePart, From
from domain.saying import say
from domain.shop.jobs import Job
from domain.shop.lots import Lot
from domain.units import Mass
from webapp import reading
from webapp.actions import melts as actions
from webapp.actions.recharging import recharge
from webapp.formats import as_typed, to_weigh
from webapp.formats import mass as written
from webapp.pages import Page, answer, see_other
from webapp.routes.edge import Db, TheSettings, Typed
from webapp.routes.once import Once
from webapp.store import nouns, reservations
from webapp.store.engine import Database, Session
from webapp.store.week import load_rules
from webapp.views.books import EntryLine, entry_lines
from webapp.ways import METRIC, current, within

router = APIRouter(prefix="/flask", route_class=Once)
BLANKS = 2
"""rows of the charge that are left free"""


@dataclass(frozen=True, kw_only=True)
class PartRow:
    """One row of the charge's form. ``planned``: empty where the plan asks for nothing."""

    number: int
    lot: str
    mass: str
    planned: str


@dataclass(frozen=True, kw_only=True)
class FlaskMetalPage(Page):
    """``lots``: to choose from, each with what is free of it. ``charged`` and ``uncleaned``: what waits for the
    next step. ``errors``: by field."""

    template: ClassVar[str] = "flask/metal.html"
    here: ClassVar[str] = "week"

    flask: str
    weighed: bool
    rows: tuple[PartRow, ...]
    lots: tuple[tuple[str, str], ...]
    charged: Mass
    jobs: tuple[tuple[str, str, int], ...]
    uncleaned: Mass
    came_back: tuple[str, ...]
    lines: tuple[EntryLine, ...]
    older: str
    typed: dict[str, str]
    errors: dict[str, str]
    key: str


@router.get("/{name}/metal")
def metal(request: Request, db: Db, name: str) -> HTMLResponse:
    with db.read() as session:
        return answer(request, _page(session, name))


@router.post("/{name}/metal/charge")
def charge(request: Request, db: Db, name: str, typed: Typed) -> Response:
    try:
        with db.write() as session:
            actions.charge(session, name, _parts(typed), note=typed.get("note", ""), key=typed.get("key") or None)
    except InvalidValue as error:
        return _refused(request, db, name, typed, {_row_of(typed, error.field): str(error)})
    return see_other(f"/flask/{name}/metal", say("The charge of {name} is written down.", name=name))


@router.post("/{name}/metal/out")
def out(request: Request, db: Db, name: str, typed: Typed) -> Response:
    try:
        with db.write() as session:
            jobs = actions.contents_of(session, name, actions.books_of(session, name))
            pieces = {job: _mass(typed, f"job.{job}") for job in jobs}
            back = _mass(typed, "back")
            actions.weigh_out(session, name, pieces, back, note=typed.get("note", ""), key=typed.get("key") or None)
    except InvalidValue as error:
        return _refused(request, db, name, typed, {_field(typed, error, "back"): str(error)})
    return see_other(f"/flask/{name}/metal", say("What came out of {name} is written down.", name=name))


@router.post("/{name}/metal/shelf")
def shelf(request: Request, db: Db, settings: TheSettings, name: str, typed: Typed) -> Response:
    refiner = typed.get("to") == "refiner"
    try:
        with db.write() as session:
            clean = _mass(typed, "clean")
            actions.shelve(session, name, clean, to_refiner=refiner, key=typed.get("key") or None)
            back = {name: Mass(0) if refiner else clean}
            with within(METRIC):
                why = say("{mass} of {name} came back clean", mass=written(clean), name=name)
            again = recharge(session, settings, why, back=back).words
    except InvalidValue as error:
        return _refused(request, db, name, typed, {"clean": str(error)})
    where = say("in the refiner's lot") if refiner else say("back on the shelf")
    return see_other(
        f"/flask/{name}/metal", say("Button and sprues of {name} are {where}.{again}", name=name, where=where, again=again)
    )


def _refused(request: Request, db: Database, name: str, typed: dict[str, str], errors: dict[str, str]) -> Response:
    """The form as it was typed, after what was begun is taken back."""
    with db.read() as session:
        return answer(request, _page(session, name, typed, errors), 422)


def _parts(typed: dict[str, str]) -> dict[str, Mass]:
    parts: dict[str, Mass] = {}
    for number in _numbers(typed):
        lot, text = typed.get(f"lot.{number}", ""), typed.get(f"mass.{number}", "").strip()
        if not text:
            continue
        if not lot:
            raise InvalidValue(f"mass.{number}", say("choose the lot that it was taken from"))
        parts[lot] = parts.get(lot, Mass(0)) + _mass(typed, f"mass.{number}")
    return parts


def _numbers(typed: dict[str, str]) -> list[int]:
    numbers = (name.removeprefix("lot.") for name in typed if name.startswith("lot."))
    return sorted(int(number) for number in numbers if number.isascii() and number.isdecimal() and len(number) < 4)


def _mass(typed: dict[str, str], name: str) -> Mass:
    """Nothing typed is nothing weighed."""
    text = typed.get(name, "").strip()
    found = reading.mass(text, name) if text else Mass(0)
    if found.base < 0:
        raise InvalidValue(name, say("a mass is not less than nothing"))
    return found


def _row_of(typed: dict[str, str], field: str) -> str:
    """The row beside which an error of a lot stands; the first where it is of none."""
    rows = [number for number in _numbers(typed) if typed.get(f"lot.{number}") == field]
    return f"mass.{rows[0]}" if rows else field if field in typed else "mass.0"


def _field(typed: dict[str, str], error: InvalidValue, otherwise: str) -> str:
    return error.field if error.field in typed else otherwise


def _page(session: Session, name: str, typed: dict[str, str] | None = None, errors: dict[str, str] | None = None) -> FlaskMetalPage:
    kept = actions.books_of(session, name)
    contents = actions.contents_of(session, name, kept)
    weighed = bool(kept.kind(EntryKind.CHARGE))
    return FlaskMetalPage(
        title=say("Metal of flask {name}", name=name),
        flask=name,
        weighed=weighed,
        rows=_rows(session, name, weighed, typed or {}) if actions.is_planned(session, name) else (),
        lots=_lots(session),
        charged=kept.charged,
        jobs=_jobs(session, contents),
        uncleaned=kept.uncleaned,
        came_back=actions.lots_from(session, name),
        lines=entry_lines(kept.entries, load_rules(session).timezone),
        older="",
        typed=typed or {},
        errors=errors or {},
        key=secrets.token_urlsafe(12),
    )


def _rows(session: Session, name: str, weighed: bool, typed: dict[str, str]) -> tuple[PartRow, ...]:
    if any(field.startswith("lot.") for field in typed):
        return tuple(
            PartRow(number=n, lot=typed.get(f"lot.{n}", ""), mass=typed.get(f"mass.{n}", ""), planned=typed.get(f"planned.{n}", ""))
            for n in _numbers(typed)
        )
    parts = [] if weighed else actions.planned_parts(session, name)
    found = [
        PartRow(
            number=n,
            lot=lot,
            mass=as_typed(part.mass, current().metal),
            planned=_taken(part),
        )
        for n, (lot, part) in enumerate(parts)
    ]
    return (*found, *(PartRow(number=len(found) + n, lot="", mass="", planned="") for n in range(BLANKS)))


def _taken(part: ChargePart) -> str:
    mass, ref = to_weigh(part.mass), part.ref
    if part.origin is From.ORDER:
        return say("{mass} of order {ref}", mass=mass, ref=ref)
    if part.origin is From.RETURNS:
        return say("{mass} of returns {ref}", mass=mass, ref=ref)
    return say("{mass} of lot {ref}", mass=mass, ref=ref)


def _lots(session: Session) -> tuple[tuple[str, str], ...]:
    promised = reservations.reserved(session)
    lots = [one for one in nouns.all_of(session, Lot) if one.mass.base > 0 and not one.arrives]
    free = {one.id: one.mass - promised.get(one.id, Mass(0)) for one in lots}
    return tuple(
        (
            one.id,
            say("{lot} {name}: {mass}, {free} free", lot=one.id, name=one.name, mass=written(one.mass), free=written(free[one.id])),
        )
        for one in lots
    )


def _jobs(session: Session, contents: Mapping[str, int]) -> tuple[tuple[str, str, int], ...]:
    """Id, what people call it, pieces in this flask."""
    known = nouns.find_all(session, Job, contents)
    names = {job: f"{job} {found.item}" for job, found in known.items() if found}
    return tuple((job, names.get(job, job), count) for job, count in contents.items())
