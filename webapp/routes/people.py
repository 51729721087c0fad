"""Who may use the server: sign in and out, switch by PIN, the first owner, accounts and tablets."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from domain.errors import InvalidValue
from domain.saying import say
from domain.shop.casting import Person
from webapp.actions import accounts as actions
from webapp.auth.roles import Role, Who, may_manage
from webapp.pages import Page, answer, see_other
from webapp.routes.doors import DEVICE_COOKIE, SESSION_COOKIE, TheWho
from webapp.routes.edge import Db, Typed
from webapp.store import accounts as store
from webapp.store import nouns
from webapp.store.accounts import AccountRow, TabletRow

entrance = APIRouter()
"""Without sign-in."""
router = APIRouter(prefix="/people")
own = APIRouter(prefix="/who")


@dataclass(frozen=True, kw_only=True)
class SignInPage(Page):
    """``first``: no account is there yet. ``onward``: where to go then. ``errors``: by field."""

    template: ClassVar[str] = "people/sign_in.html"

    first: bool
    onward: str
    name: str
    errors: dict[str, str]


@dataclass(frozen=True, kw_only=True)
class SwitchPage(Page):
    """``tablet``: this device, none where it is not enrolled."""

    template: ClassVar[str] = "people/switch.html"

    tablet: TabletRow | None
    casters: tuple[AccountRow, ...]
    chosen: str
    error: str


@dataclass(frozen=True, kw_only=True)
class PeoplePage(Page):
    """``theirs``: accounts that the reader may end. ``typed``: the form as it was sent, secrets left out."""

    template: ClassVar[str] = "people/people.html"

    asks: bool
    listed: tuple[AccountRow, ...]
    theirs: frozenset[int]
    roles: tuple[Role, ...]
    people: tuple[Person, ...]
    tablets: tuple[TabletRow, ...]
    here_enrolled: str
    typed: dict[str, str]
    errors: dict[str, str]


@dataclass(frozen=True, kw_only=True)
class WhoPage(Page):
    """``errors``: of the form that changes a PIN or password, by field."""

    template: ClassVar[str] = "people/who.html"

    tablet: bool
    errors: dict[str, str]


def _onward(text: str) -> str:
    """A page of this server, never another's."""
    plain = text.startswith("/") and not text.startswith("//") and "\\" not in text and text.isprintable()
    return text if plain else "/"


def _client(request: Request) -> str:
    return request.client.host if request.client else "unknown"


def _with_session(request: Request, token: str, onward: str) -> RedirectResponse:
    response = see_other(onward)
    secure = request.url.scheme == "https"
    response.set_cookie(SESSION_COOKIE, token, max_age=365 * actions.DAY, httponly=True, samesite="lax", secure=secure)
    return response


@entrance.get("/sign-in")
def sign_in_page(request: Request, db: Db, onward: str = "/") -> Response:
    return _sign_in(request, db, onward, "", {})


@entrance.post("/sign-in")
def sign_in(request: Request, db: Db, typed: Typed) -> Response:
    onward = _onward(typed.get("onward", "/"))
    try:
        token = actions.by_password(db, typed, _client(request))
    except InvalidValue as error:
        return _sign_in(request, db, onward, typed.get("name", ""), {error.field: str(error)})
    actions.sign_out(db, request.cookies.get(SESSION_COOKIE, ""))
    return _with_session(request, token, onward)


@entrance.post("/first-owner")
def first_owner(request: Request, db: Db, typed: Typed) -> Response:
    try:
        token = actions.first_owner(db, request.app.state.first_code, typed, _client(request))
    except InvalidValue as error:
        return _sign_in(request, db, "/", typed.get("name", ""), {error.field: str(error)})
    request.app.state.first_code = ""
    return _with_session(request, token, "/people")


def _sign_in(request: Request, db: Db, onward: str, name: str, errors: dict[str, str]) -> Response:
    with db.read() as session:
        first = not store.any_account(session)
    page = SignInPage(
        title=say("The first owner") if first else say("Sign in"), first=first, onward=_onward(onward), name=name, errors=errors
    )
    return answer(request, page, 422 if errors else 200)


@entrance.get("/switch")
def switch_page(request: Request, db: Db) -> Response:
    return _switch(request, db, "", "")


@entrance.post("/switch")
def switch(request: Request, db: Db, typed: Typed) -> Response:
    try:
        token = actions.by_pin(db, request.cookies.get(DEVICE_COOKIE, ""), typed)
    except InvalidValue as error:
        return _switch(request, db, typed.get("account", ""), str(error))
    actions.sign_out(db, request.cookies.get(SESSION_COOKIE, ""))
    return _with_session(request, token, "/today")


def _switch(request: Request, db: Db, chosen: str, error: str) -> Response:
    with db.read() as session:
        tablet = store.tablet_of(session, request.cookies.get(DEVICE_COOKIE, ""))
        casters = tuple(row for row in store.accounts(session) if row.pin) if tablet else ()
    page = SwitchPage(title=say("Who is at the tablet?"), tablet=tablet, casters=casters, chosen=chosen, error=error)
    return answer(request, page, 422 if error else 200)


@own.get("")
def who_am_i(request: Request, db: Db) -> Response:
    return _who_page(request, db, {})


@own.post("/secret")
def change_secret(request: Request, db: Db, who: TheWho, typed: Typed) -> Response:
    try:
        said = actions.change_secret(db, who, typed, _client(request), request.cookies.get(SESSION_COOKIE, ""))
    except InvalidValue as error:
        return _who_page(request, db, {error.field: str(error)})
    return see_other("/who", said)


def _who_page(request: Request, db: Db, errors: dict[str, str]) -> Response:
    with db.read() as session:
        tablet = store.tablet_of(session, request.cookies.get(DEVICE_COOKIE, ""))
    page = WhoPage(title=say("Who am I?"), tablet=tablet is not None, errors=errors)
    return answer(request, page, 422 if errors else 200)


@own.post("/sign-out")
def sign_out(request: Request, db: Db) -> Response:
    actions.sign_out(db, request.cookies.get(SESSION_COOKIE, ""))
    response = see_other("/sign-in", say("Signed out"))
    response.delete_cookie(SESSION_COOKIE)
    return response


@router.get("")
def people(request: Request, db: Db, who: TheWho) -> Response:
    return _people(request, db, who, {}, {})


@router.post("")
def add(request: Request, db: Db, who: TheWho, typed: Typed) -> Response:
    try:
        return see_other("/people", actions.add_account(db, who, typed))
    except InvalidValue as error:
        return _people(request, db, who, typed, {error.field: str(error)})


@router.post("/tablets")
def enrol(request: Request, db: Db, who: TheWho, typed: Typed) -> Response:
    try:
        token = actions.enrol(db, typed.get("device", ""))
    except InvalidValue as error:
        return _people(request, db, who, typed, {error.field: str(error)})
    response = see_other("/people", say("This device is enrolled: casters can switch on it by PIN"))
    secure = request.url.scheme == "https"
    response.set_cookie(DEVICE_COOKIE, token, max_age=365 * actions.DAY, httponly=True, samesite="lax", secure=secure)
    return response


@router.post("/tablets/{id}/revoke")
def revoke(db: Db, id: int) -> Response:
    return see_other("/people", actions.revoke(db, id))


@router.post("/{id}/end")
def end(db: Db, who: TheWho, id: int) -> Response:
    return see_other("/people", actions.end_account(db, who, id))


def _people(request: Request, db: Db, who: Who, typed: dict[str, str], errors: dict[str, str]) -> Response:
    with db.read() as session:
        listed, tablets = store.accounts(session), store.tablets(session)
        here = store.tablet_of(session, request.cookies.get(DEVICE_COOKIE, ""))
        casters = nouns.all_of(session, Person)
    page = PeoplePage(
        title=say("People and tablets"),
        asks=request.app.state.settings.asks,
        listed=listed,
        theirs=frozenset(row.id for row in listed if row.id is not None and may_manage(who, row.role)),
        roles=tuple(role for role in Role if may_manage(who, role)),
        people=casters,
        tablets=tablets,
        here_enrolled=here.name if here else "",
        typed={name: text for name, text in typed.items() if name not in ("password", "pin")},
        errors=errors,
    )
    return answer(request, page, 422 if errors else 200)
