"""The floor, flask by flask: each stage is recorded by doing it."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, Response

from domain.errors import DomainError, InvalidValue
from domain.floor.expect import Wait
from domain.floor.stages import Stage
from domain.floor.work import FloorFlask, work_for
from domain.safety.gates import GATES, HeldBack
from domain.saying import say
from domain.stock.real_tree import expected_tree
from domain.units import Mass
from webapp.actions import floor as actions
from webapp.actions import melts
from webapp.actions.floor import Typed as Read
from webapp.actions.gates import stand_all
from webapp.actions.metal import weigh_tree
from webapp.actions.planning import Desk, load_desk
from webapp.auth.roles import Who
from webapp.pages import Page, answer, see_other
from webapp.routes.doors import TheWho
from webapp.routes.edge import Db, TheSettings, Typed
from webapp.routes.once import Once
from webapp.store import charges, floor, ticks
from webapp.store.engine import Session
from webapp.views import checks
from webapp.views import floor as view
from webapp.views.check_links import CheckLink, check_link
from webapp.views.floor import Field, Met, RecordLine, Step
from webapp.views.prints import context_of_flask
from webapp.views.week import alloy_name

router = APIRouter(prefix="/flask", route_class=Once)


@dataclass(frozen=True, kw_only=True)
class FloorPage(Page):
    """The way of a flask. ``undo``: what may be undone, in words and as its mark."""

    template: ClassVar[str] = "floor/floor.html"
    here: ClassVar[str] = "today"

    flask: str
    alloy: str
    steps: tuple[Step, ...]
    undo: tuple[str, str] | None
    key: str


@dataclass(frozen=True, kw_only=True)
class StagePage(Page):
    """The form of one stage. ``odd``: what is asked about before it is recorded, ``sure`` the answer to it.
    ``held``: why it is not recorded, in words. ``checks``: the checklists before it. ``people``: who may have
    done it, none where somebody is signed in. ``together``: the other flasks to which it happens."""

    template: ClassVar[str] = "floor/stage.html"
    here: ClassVar[str] = "today"

    flask: str
    alloy: str
    step: str
    does: str
    hint: str
    fields: tuple[Field, ...]
    wait: Wait | None
    wait_until: str
    together: tuple[str, ...]
    people: tuple[str, ...]
    met: Met | None
    typed: dict[str, str]
    errors: dict[str, str]
    odd: tuple[tuple[str, str], ...]
    sure: str
    held: str
    checks: tuple[CheckLink, ...]
    key: str


@dataclass(frozen=True, kw_only=True)
class TreePage(Page):
    """``expected``: what the tree should weigh without its base; none where that is not known any more."""

    template: ClassVar[str] = "floor/tree.html"
    here: ClassVar[str] = "today"

    flask: str
    alloy: str
    expected: Mass | None
    charge: Mass
    typed: dict[str, str]
    errors: dict[str, str]
    key: str


@dataclass(frozen=True, kw_only=True)
class RecordPage(Page):
    template: ClassVar[str] = "floor/record.html"
    here: ClassVar[str] = "today"

    flask: str
    lines: tuple[RecordLine, ...]
    undo: tuple[str, str] | None
    key: str


@router.get("/{name}/floor")
def way(request: Request, db: Db, settings: TheSettings, name: str) -> HTMLResponse:
    with db.read() as session:
        desk = load_desk(session, settings)
        flask = known(desk, name)
        rows = floor.happened_to(session, name)
        entries, tree = melts.books_of(session, name).entries, charges.tree_of(session, name)
        steps = view.steps(desk.local, flask, rows, entries, tree, checks_of(session, desk, name, *GATES))
        page = FloorPage(
            title=say("Flask {name}", name=name),
            flask=name,
            alloy=alloy_name(desk.problem, flask.planned),
            steps=tuple(steps),
            undo=_undo(session, name),
            key=secrets.token_urlsafe(12),
        )
    return answer(request, page)


@router.get("/{name}/floor/{step}")
def stage(request: Request, db: Db, settings: TheSettings, who: TheWho, name: str, step: str) -> HTMLResponse:
    with db.read() as session:
        desk = load_desk(session, settings)
        known(desk, name)
        return answer(request, _stage_page(session, desk, who, name, _stage_of(step)))


@router.post("/{name}/floor/{step}")
def record(request: Request, db: Db, settings: TheSettings, who: TheWho, name: str, step: str, typed: Typed) -> Response:
    reached = _stage_of(step)
    with db.write() as session:
        desk = load_desk(session, settings)
        known(desk, name)
        read = actions.read_typed(session, desk, name, reached, typed)
        asked = read.errors or (read.odd and typed.get("sure") != read.sure)
        if asked and not floor.seen(session, f"{typed.get('key', '')}/{name}"):
            return answer(request, _stage_page(session, desk, who, name, reached, typed, read), 422)
        names, sent, did = actions.together(session, desk, name, reached), typed.get("key", ""), who_did(who, typed)
        theirs = actions.written_otherwise(session, name, reached, read.values, sent)
        if theirs is not None and typed.get("instead") != str(theirs.id):
            met = view.met(desk.local, theirs, read.values)
            return answer(request, _stage_page(session, desk, who, name, reached, typed, read, met=met), 409)
        try:
            with session.begin_nested():
                if theirs is not None:
                    actions.undo(session, (name,), reached, who=did, key=f"{sent}/instead" if sent else "")
                actions.record(session, desk, names, reached, read.values, who=did, note=read.sure, key=sent)
        except DomainError as error:
            status = 409 if isinstance(error, HeldBack) else 422
            return answer(request, _stage_page(session, desk, who, name, reached, typed, read, held=str(error)), status)
    return see_other(f"/flask/{name}/floor", f"{', '.join(names)}: {reached}.")


@router.get("/{name}/tree")
def tree(request: Request, db: Db, settings: TheSettings, name: str) -> HTMLResponse:
    with db.read() as session:
        return answer(request, _tree_page(load_desk(session, settings), name, {}, {}))


@router.post("/{name}/tree")
def weigh(request: Request, db: Db, settings: TheSettings, name: str, typed: Typed) -> Response:
    try:
        again = weigh_tree(db, settings, name, typed.get("gross", ""), typed.get("base", ""), typed.get("key", ""))
    except InvalidValue as error:
        field = error.field if error.field in ("gross", "base") else "gross"
        with db.read() as session:
            return answer(request, _tree_page(load_desk(session, settings), name, typed, {field: str(error)}), 422)
    return see_other(f"/flask/{name}/floor", say("The tree of {name} is weighed.{words}", name=name, words=again.words))


@router.get("/{name}/record")
def told(request: Request, db: Db, settings: TheSettings, name: str) -> HTMLResponse:
    with db.read() as session:
        desk = load_desk(session, settings)
        rows, entries = floor.everything(session, name), melts.books_of(session, name).entries
        kept = checks.kept_lines(desk.local, ticks.rows(session, [name]), ticks.overrides(session, [name]).get(name, ()))
        lines = view.record_lines(desk.local, rows, entries, charges.trees_of(session, name), kept)
        if not lines:
            known(desk, name)
        page = RecordPage(
            title=say("Record of flask {name}", name=name),
            flask=name,
            lines=lines,
            undo=_undo(session, name),
            key=secrets.token_urlsafe(12),
        )
    return answer(request, page)


@router.post("/{name}/record/undo")
def undo(db: Db, settings: TheSettings, who: TheWho, name: str, typed: Typed) -> Response:
    with db.write() as session:
        desk = load_desk(session, settings)
        what = actions.undo_last(session, desk, name, typed.get("step", ""), who=who_did(who, typed), key=typed.get("key", ""))
    return see_other(f"/flask/{name}/floor", say("{name}: “{what}” is taken back; both stay in the record.", name=name, what=what))


def known(desk: Desk, name: str) -> FloorFlask:
    try:
        return actions.on_the_floor(desk, name)
    except DomainError:
        raise HTTPException(404) from None


def checks_of(session: Session, desk: Desk, name: str, *stages: str) -> dict[str, tuple[CheckLink, ...]]:
    """By stage: the checklists before it, as they stand."""
    pauses = {stage: GATES.get(stage, ()) for stage in stages}
    found = stand_all(session, desk, [(name, pause) for of_stage in pauses.values() for pause in of_stage])
    context = context_of_flask(desk.problem, actions.planned(desk, name))
    links = {pause: check_link(name, context, standing) for (_, pause), (_, standing) in found.items()}
    return {stage: tuple(links[pause] for pause in of_stage) for stage, of_stage in pauses.items()}


def who_did(who: Who, typed: dict[str, str]) -> str:
    """Whoever is signed in; where nobody signs in, whoever was chosen."""
    return who.name if who.account else typed.get("who", "").strip()[:80]


def _undo(session: Session, name: str) -> tuple[str, str] | None:
    last = actions.last_step(session, name)
    return (last.what, last.mark) if last else None


def _stage_of(step: str) -> Stage:
    found = next((stage for stage in view.DOES if stage.name.lower() == step), None)
    if found is None:
        raise HTTPException(404)
    return found


def people_of(desk: Desk, who: Who, name: str) -> tuple[str, ...]:
    """Those who may have done it, whoever is planned first; none where somebody is signed in."""
    if who.account:
        return ()
    names = {p.id: p.name for p in desk.problem.shop.people}
    planned = [names[p] for p in actions.planned(desk, name).people if p in names]
    return tuple(dict.fromkeys((*planned, *names.values())))


def _stage_page(
    session: Session,
    desk: Desk,
    who: Who,
    name: str,
    reached: Stage,
    typed: dict[str, str] | None = None,
    read: Read | None = None,
    held: str = "",
    met: Met | None = None,
) -> StagePage:
    flask = actions.on_the_floor(desk, name)
    work = work_for(flask, reached, actions.before_of(floor.happened_to(session, name)))
    return StagePage(
        title=say("{what}: {name}", what=view.DOES[reached], name=name),
        flask=name,
        alloy=alloy_name(desk.problem, flask.planned),
        step=reached.name.lower(),
        does=view.DOES[reached],
        hint=view.HINTS.get(reached, ""),
        fields=view.fields(work, typed or {}),
        wait=work.wait,
        wait_until=view.wait_words(desk.local, work.wait),
        together=actions.together(session, desk, name, reached)[1:],
        people=people_of(desk, who, name),
        met=met,
        typed=typed or {},
        errors=dict(read.errors) if read else {},
        odd=read.odd if read and not held and met is None else (),
        sure=read.sure if read else "",
        held=held,
        checks=checks_of(session, desk, name, reached)[reached],
        key=(typed or {}).get("key") or secrets.token_urlsafe(12),
    )


def _tree_page(desk: Desk, name: str, typed: dict[str, str], errors: dict[str, str]) -> TreePage:
    flask = known(desk, name).planned
    try:
        expected: Mass | None = expected_tree(desk.problem, flask)
    except InvalidValue:
        expected = None
    return TreePage(
        title=say("Weigh the tree: {name}", name=name),
        flask=name,
        alloy=alloy_name(desk.problem, flask),
        expected=expected,
        charge=flask.charge,
        typed=typed,
        errors=errors,
        key=typed.get("key") or secrets.token_urlsafe(12),
    )
