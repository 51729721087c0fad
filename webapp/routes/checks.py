"""The checklists before the stages of a flask, worked on a tablet: one point after the other, and who let what pass."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import dataclass
from typing import ClassVar
from urllib.parse import quote

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, Response

from domain.errors import DomainError, InvalidValue
from domain.floor.stages import Stage
from domain.safety.gates import LAST_STAGE, STAGES, State
from domain.safety.points import Pause
from domain.saying import say
from webapp.actions import accounts
from webapp.actions import checks as actions
from webapp.actions.checks import By, Check, NotAsRead
from webapp.actions.floor import planned
from webapp.actions.planning import Desk, load_desk
from webapp.auth.roles import Role, Who
from webapp.pages import Page, answer, see_other
from webapp.routes.doors import DESK, DEVICE_COOKIE, TheWho
from webapp.routes.edge import Db, TheSettings, Typed
from webapp.routes.floor import known, people_of
from webapp.routes.once import Once
from webapp.settings import Settings
from webapp.store import ticks
from webapp.store.accounts import accounts as all_accounts
from webapp.store.engine import Database, Session
from webapp.views import checks as view
from webapp.views.check_links import address_of, title_of
from webapp.views.checks import PassLine, PointLine
from webapp.views.prints import context_of_flask
from webapp.views.week import alloy_name

router = APIRouter(prefix="/flask", route_class=Once)
passing = APIRouter(prefix="/flask", route_class=Once)
"""A manager lets the work go on."""
signing = APIRouter(prefix="/flask")
"""Signed by PIN in one's presence: never kept on a device, and wrong tries count whatever becomes of the rest."""

Work = Callable[[Session, Desk, Pause], str]

_ONWARD = {
    Stage.INVESTED: say("Go on: invest the flask"),
    Stage.STARTED: say("Go on: start the program"),
    Stage.CAST: say("Go on: cast the flask"),
    Stage.QUENCHED: say("Go on: quench it"),
    Stage.KNOCKED_OUT: say("Go on: knock it out"),
}
"""By the stage that comes behind a checklist."""


@dataclass(frozen=True, kw_only=True)
class CheckPage(Page):
    """``flasks``: the others that share it. ``opens``: how many required points are open, ``holds`` whether they hold the
    work back. ``closed``: the stage that is recorded already. ``people``: who may have ticked, none where somebody is
    signed in; ``chosen`` among them. ``seconds``: who may sign besides, as value and name; ``asks_secret``: with a PIN.
    ``onward``: where the work goes on, and its words. ``trouble``: why nothing was changed."""

    template: ClassVar[str] = "check/check.html"
    here: ClassVar[str] = "today"

    flask: str
    alloy: str
    pause: str
    flasks: tuple[str, ...]
    address: str
    known: bool
    lines: tuple[PointLine, ...]
    ticked: int
    opens: int
    holds: bool
    closed: str
    people: tuple[str, ...]
    chosen: str
    seconds: tuple[tuple[str, str], ...]
    asks_secret: bool
    may_pass: bool
    passed: tuple[PassLine, ...]
    all_read: str
    onward: tuple[str, str]
    trouble: str
    typed: dict[str, str]
    errors: dict[str, str]
    key: str


@router.get("/{name}/check/{pause}")
def check(
    request: Request, db: Db, settings: TheSettings, who: TheWho, name: str, pause: str, at: str = "", after: str = ""
) -> HTMLResponse:
    with db.read() as session:
        desk = load_desk(session, settings)
        known(desk, name)
        return answer(request, _page(session, desk, who, name, _pause_of(pause), {"at": at, "after": after}))


@router.post("/{name}/check/{pause}/tick")
def tick(request: Request, db: Db, settings: TheSettings, who: TheWho, name: str, pause: str, typed: Typed) -> Response:
    def work(session: Session, desk: Desk, at: Pause) -> str:
        return actions.tick(
            session,
            desk,
            name,
            at,
            typed.get("point", ""),
            reading=typed.get("reading", ""),
            read=typed.get("read", ""),
            by=_by(desk, who, typed.get("who", "")),
            key=typed.get("key", ""),
        )

    return _done(request, db, settings, who, name, pause, typed, work, onward=f"?after={quote(typed.get('point', ''), safe='')}")


@router.post("/{name}/check/{pause}/back")
def back(request: Request, db: Db, settings: TheSettings, who: TheWho, name: str, pause: str, typed: Typed) -> Response:
    def work(session: Session, desk: Desk, at: Pause) -> str:
        by = _by(desk, who, typed.get("who", ""))
        return actions.take_back(session, desk, name, at, typed.get("point", ""), by=by, key=typed.get("key", ""))

    return _done(request, db, settings, who, name, pause, typed, work)


@passing.post("/{name}/check/{pause}/pass")
def let_pass(request: Request, db: Db, settings: TheSettings, who: TheWho, name: str, pause: str, typed: Typed) -> Response:
    def work(session: Session, desk: Desk, at: Pause) -> str:
        by = _by(desk, who, typed.get("manager", ""))
        reason, read, key = typed.get("reason", ""), typed.get("read", ""), typed.get("key", "")
        return actions.let_pass(session, desk, name, at, reason=reason, read=read, by=by, key=key)

    return _done(request, db, settings, who, name, pause, typed, work)


@signing.post("/{name}/check/{pause}/sign")
def sign(request: Request, db: Db, settings: TheSettings, who: TheWho, name: str, pause: str, typed: Typed) -> Response:
    def work(session: Session, desk: Desk, at: Pause) -> str:
        read, key = typed.get("read", ""), typed.get("key", "")
        return actions.sign(session, desk, name, at, typed.get("point", ""), read=read, by=by(desk), key=key)

    def by(desk: Desk) -> By:
        return second or _by(desk, who, typed.get("second", ""))

    second = None
    shown = {field: text for field, text in typed.items() if field != "secret"}
    try:
        if who.account:
            row = accounts.signature(db, request.cookies.get(DEVICE_COOKIE, ""), typed, _client(request))
            second = By(name=row.name, account=row.id)
    except InvalidValue as error:
        return _refused(request, db, settings, who, name, _pause_of(pause), shown, errors={error.field: str(error)})
    return _done(request, db, settings, who, name, pause, shown, work, onward=f"?after={quote(typed.get('point', ''), safe='')}")


def _done(
    request: Request,
    db: Database,
    settings: Settings,
    who: Who,
    name: str,
    pause: str,
    typed: dict[str, str],
    work: Work,
    *,
    onward: str = "",
) -> Response:
    at = _pause_of(pause)
    try:
        with db.write() as session:
            desk = load_desk(session, settings)
            known(desk, name)
            said = work(session, desk, at)
    except NotAsRead as error:
        return _refused(request, db, settings, who, name, at, typed, trouble=str(error), status=409)
    except InvalidValue as error:
        return _refused(request, db, settings, who, name, at, typed, errors={error.field: str(error)})
    except DomainError as error:
        return _refused(request, db, settings, who, name, at, typed, trouble=str(error))
    return see_other(address_of(name, at) + onward, said)


def _refused(
    request: Request,
    db: Database,
    settings: Settings,
    who: Who,
    name: str,
    pause: Pause,
    typed: dict[str, str],
    *,
    trouble: str = "",
    errors: dict[str, str] | None = None,
    status: int = 422,
) -> HTMLResponse:
    with db.read() as session:
        desk = load_desk(session, settings)
        known(desk, name)
        typed = {**typed, "at": typed.get("point", "")}
        return answer(request, _page(session, desk, who, name, pause, typed, trouble=trouble, errors=errors or {}), status)


def _page(
    session: Session,
    desk: Desk,
    who: Who,
    name: str,
    pause: Pause,
    typed: dict[str, str],
    *,
    trouble: str = "",
    errors: dict[str, str] | None = None,
) -> CheckPage:
    flask, found = planned(desk, name), actions.check_of(session, desk, name, pause)
    standing = found.standing
    now = None if found.closed else view.current(standing, at=typed.get("at", ""), after=typed.get("after", ""))
    context = context_of_flask(desk.problem, flask)
    title = title_of(pause, context)
    people = people_of(desk, who, name)
    return CheckPage(
        title=say("Check {pause}: {flask}", pause=title, flask=name),
        flask=name,
        alloy=alloy_name(desk.problem, flask),
        pause=title,
        flasks=tuple(one for one in found.gate.flasks if one != name),
        address=address_of(name, pause),
        known=standing.known,
        lines=view.point_lines(
            desk.local, standing, now, lambda state: actions.as_read(found.gate, (state,)), closed=bool(found.closed)
        ),
        ticked=standing.done,
        opens=len(standing.open),
        holds=standing.holds_back and not found.closed,
        closed=STAGES.get(found.closed, ""),
        people=people,
        chosen=typed.get("who") or _last(found) or next(iter(people), ""),
        seconds=_seconds(session, people, now, who),
        asks_secret=bool(who.account),
        may_pass=who.role in DESK,
        passed=view.pass_lines(desk.local, ticks.overrides(session, [name]).get(name, ()), pause),
        all_read=actions.as_read(found.gate, standing.open),
        onward=_onward(name, pause, context is not None and desk.problem.melt[flask.melt].alloy.cooling.method == "quench"),
        trouble=trouble,
        typed=typed,
        errors=errors or {},
        key=secrets.token_urlsafe(12),
    )


def _last(found: Check) -> str:
    """Who ticked last goes on ticking, until somebody else is chosen."""
    ticked = [state.tick for state in found.standing.states if state.tick]
    return max(ticked, key=lambda one: one.at).who if ticked else ""


def _seconds(session: Session, people: tuple[str, ...], now: State | None, who: Who) -> tuple[tuple[str, str], ...]:
    if now is None or not now.waits or now.tick is None:
        return ()
    if not who.account:
        return tuple((name, name) for name in people if name != now.tick.who)
    return tuple(
        (str(row.id), row.name) for row in all_accounts(session) if row.role is not Role.BOARD and row.id != now.tick.account
    )


def _onward(name: str, pause: Pause, quenches: bool) -> tuple[str, str]:
    if pause is Pause.MELT:
        return address_of(name, Pause.POUR), say("Go on: the check before the pour")
    stage = Stage.QUENCHED if pause is Pause.QUENCH and quenches else Stage(LAST_STAGE[pause])
    return f"/flask/{name}/floor/{stage.name.lower()}", _ONWARD[stage]


def _by(desk: Desk, who: Who, chosen: str) -> By:
    """Whoever is signed in; where nobody signs in, whoever was chosen of the shop's people."""
    if who.account:
        return By(name=who.name, account=who.account)
    names = {person.name for person in desk.problem.shop.people} or {who.name}
    return By(name=chosen if chosen in names else "")


def _pause_of(text: str) -> Pause:
    found = next((pause for pause in Pause if pause.name.lower() == text), None)
    if found is None:
        raise HTTPException(404)
    return found


def _client(request: Request) -> str:
    return request.client.host if request.client else "unknown"
