"""The checklists of the shop, point by point."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import ClassVar, Literal

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import Response

from domain.safety.catalogue import Listed
from domain.safety.own_points import PointChange
from domain.safety.point_rules import caution
from domain.safety.points import Pause, Reading
from domain.saying import say
from webapp.actions import checklists as actions
from webapp.actions.saving import Saved
from webapp.forms import OPENED, Form, meet, opened_text
from webapp.pages import Page, answer, see_other
from webapp.routes.edge import Db, Typed
from webapp.shop_nouns import NOUNS, Noun
from webapp.store import checklists
from webapp.store.engine import Session
from webapp.views.checklists import PauseList, listed, pause_lists, point_form, texts_of

router = APIRouter(prefix="/checklists")
HERE = "/shop/checklists"


@dataclass(frozen=True, kw_only=True)
class ChecklistsPage(Page):
    template: ClassVar[str] = "shop/checklists.html"
    here: ClassVar[str] = "shop"

    nouns: tuple[Noun, ...] = NOUNS
    slug: str = "checklists"
    pauses: tuple[PauseList, ...]


@dataclass(frozen=True, kw_only=True)
class PointPage(Page):
    """``point``: none for a new one. ``warning``: why leaving it out is warned about, empty where it
    carries no caution. ``drop_reason`` and ``drop_error``: of the form that leaves it out."""

    template: ClassVar[str] = "shop/point.html"
    here: ClassVar[str] = "shop"

    nouns: tuple[Noun, ...] = NOUNS
    slug: str = "checklists"
    point: Listed | None
    version: int
    form: Form
    warning: str
    drop_reason: str
    drop_error: str


@router.get("")
def overview(request: Request, db: Db) -> Response:
    with db.read() as session:
        pauses = pause_lists(checklists.changes(session))
    return answer(request, ChecklistsPage(title=say("Checklists"), pauses=pauses))


@router.get("/new")
def new(request: Request, db: Db, pause: str = "") -> Response:
    with db.read() as session:
        return _page(
            request,
            session,
            None,
            0,
            {"pause": pause if pause in Pause.__members__ else "", "reading": Reading.NONE, "required": "on"},
        )


@router.post("")
def add(request: Request, db: Db, typed: Typed) -> Response:
    with db.write() as session:
        saved = actions.add(session, typed)
        if not saved.done:
            return _page(request, session, None, 0, typed, errors=saved.errors, status=422)
    return see_other(f"{HERE}#{saved.key}", say("The point was added."))


@router.get("/{point}")
def edit(request: Request, db: Db, point: str) -> Response:
    with db.read() as session:
        standing, version = _found(session, point)
        return _page(request, session, standing, version, texts_of(standing))


@router.post("/{point}")
def change(request: Request, db: Db, point: str, typed: Typed) -> Response:
    with db.write() as session:
        standing, _ = _found(session, point)
        saved = actions.change(session, standing, typed, _version(typed))
        if not saved.done:
            return _refused(request, session, standing, saved, typed)
    return see_other(f"{HERE}#{point}", say("The point was saved."))


@router.post("/{point}/drop")
def drop(request: Request, db: Db, point: str, typed: Typed) -> Response:
    with db.write() as session:
        standing, _ = _found(session, point)
        reason = typed.get("drop_reason", "")
        saved = actions.drop(session, standing, reason, _version(typed))
        if not saved.done:
            texts = {**texts_of(standing), "version": typed.get("version", "")}
            return _refused(request, session, standing, saved, texts, drop_reason=reason)
    return see_other(f"{HERE}#{point}", say("The point is left out. It stands below its list and can be put back."))


@router.post("/{point}/restore")
def restore(request: Request, db: Db, point: str, typed: Typed) -> Response:
    with db.write() as session:
        standing, _ = _found(session, point)
        saved = actions.restore(session, standing, _version(typed))
        if not saved.done:
            return _refused(request, session, standing, saved, {**texts_of(standing), "version": typed.get("version", "")})
    return see_other(f"{HERE}#{point}", say("The point is as it started."))


@router.post("/{point}/put-back")
def put_back(request: Request, db: Db, point: str, typed: Typed) -> Response:
    with db.write() as session:
        standing, _ = _found(session, point)
        saved = actions.put_back(session, standing, _version(typed))
        if not saved.done:
            return _refused(request, session, standing, saved, {**texts_of(standing), "version": typed.get("version", "")})
    return see_other(f"{HERE}#{point}", say("The point is back in its list."))


@router.post("/{point}/move/{where}")
def move(db: Db, point: str, where: Literal["up", "down"]) -> Response:
    with db.write() as session:
        _found(session, point)
        actions.move(session, point, -1 if where == "up" else 1)
    return see_other(f"{HERE}#{point}")


def _found(session: Session, point: str) -> tuple[PointChange, int]:
    found = actions.find(session, point)
    if found is None:
        raise HTTPException(404)
    return found


def _version(typed: Mapping[str, str]) -> int:
    """−1, which no point ever had, where the form did not send one."""
    text = typed.get("version", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else -1


def _refused(
    request: Request,
    session: Session,
    standing: PointChange,
    saved: Saved,
    typed: Mapping[str, str],
    *,
    drop_reason: str | None = None,
) -> Response:
    version = saved.version if saved.overtaken else _version(typed)
    status = 409 if saved.overtaken else 422
    return _page(request, session, standing, version, typed, errors=saved.errors, status=status, drop_reason=drop_reason)


def _page(
    request: Request,
    session: Session,
    standing: PointChange | None,
    version: int,
    typed: Mapping[str, str],
    *,
    errors: Mapping[str, str] | None = None,
    status: int = 200,
    drop_reason: str | None = None,
) -> Response:
    """``drop_reason``: as typed into the form that leaves the point out; none where another was sent."""
    wrong = dict(errors or {})
    drop_error = wrong.pop("reason", "") if drop_reason is not None else ""
    there = texts_of(standing) if standing else {}

    def build(texts: Mapping[str, str]) -> Form:
        return point_form(standing, texts, wrong, actions.cautions(session))

    page = PointPage(
        title=_title(standing),
        point=listed(standing.id, checklists.changes(session)) if standing else None,
        version=version,
        form=meet(typed, there, build) if status == 409 else build({OPENED: opened_text(there), **typed}),
        warning=caution(standing) if standing else "",
        drop_reason=drop_reason or "",
        drop_error=drop_error,
    )
    return answer(request, page, status)


def _title(standing: PointChange | None) -> str:
    return say("New point") if standing is None else say("Point {pause}", pause=standing.pause.words)
