"""Who may look and who may change, router by router. A router is included with a door or not at all."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Annotated

from fastapi import Depends, HTTPException, Request

from domain.saying import say
from webapp.actions.accounts import now
from webapp.auth.roles import THIS_MACHINE, Role, Who
from webapp.errors import NotSignedIn
from webapp.languages.asked import asked_for
from webapp.security import SAFE_METHODS, SOFTWARE
from webapp.store.accounts import signed_in
from webapp.store.trouble import Unavailable
from webapp.store.ways import of_account
from webapp.ways import METRIC, Ways, as_usual_in

SESSION_COOKIE, DEVICE_COOKIE = "castweek_session", "castweek_tablet"


def who_asks(request: Request) -> Who | None:
    """Whoever the request's cookie stands for, looked up anew each time so that an ended sign-in is over at once."""
    if not request.app.state.settings.asks:
        return THIS_MACHINE
    with request.app.state.db.read() as session:
        return signed_in(session, request.cookies.get(SESSION_COOKIE, ""), now())


def ways_of(request: Request, who: Who | None) -> Ways:
    """In which units and language they read: their own, else the shop's, else metric in the language of the browser;
    metric and English for other software. A page that tells of a database that does not answer still has to be
    written."""
    if who is not None and who.access:
        return METRIC
    software = request.url.path.startswith(SOFTWARE)
    language = None if software else asked_for(request.headers.get("accept-language", ""))
    by_browser = METRIC if language is None else as_usual_in(replace(METRIC, language=language))
    try:
        with request.app.state.db.read() as session:
            return of_account(session, who.account if who else None, by_browser)
    except Unavailable:
        return by_browser


@dataclass(frozen=True)
class Door:
    """A dependency of a whole router. ``look``: roles for GET; ``change``: for everything else. ``open``:
    nobody is asked."""

    look: frozenset[Role] = frozenset()
    change: frozenset[Role] = frozenset()
    open: bool = False

    def lets(self, role: Role, method: str) -> bool:
        return self.open or role in (self.look if method in SAFE_METHODS else self.change)

    def __call__(self, request: Request) -> None:
        who = who_asks(request)
        request.state.who = who
        request.state.ways = ways_of(request, who)
        if self.open:
            return
        if who is None:
            raise NotSignedIn
        if not self.lets(who.role, request.method):
            raise HTTPException(403, _refusal(who, looks=request.method in SAFE_METHODS))


def _refusal(who: Who, *, looks: bool) -> str:
    role = say(str(who.role))
    if looks:
        return say("Nothing was changed: {who} is signed in as {role}, who may not look at this.", who=who.name, role=role)
    return say("Nothing was changed: {who} is signed in as {role}, who may not change this.", who=who.name, role=role)


def door(look: Iterable[Role], change: Iterable[Role] = ()) -> Door:
    return Door(look=frozenset(look), change=frozenset(change))


DESK = (Role.OWNER, Role.MANAGER)
FLOOR = (Role.OWNER, Role.MANAGER, Role.CASTER)
OPEN_DOOR = Door(open=True)
FLOOR_DOOR = door(FLOOR, FLOOR)
"""Casters look and write."""
READ_DOOR = door(FLOOR, DESK)
"""Casters look, the desk writes."""
DESK_DOOR = door(DESK, DESK)
OWNER_DOOR = door([Role.OWNER], [Role.OWNER])
"""The complete shop, with all that it knows of its people."""
BOARD_DOOR = door(Role)
OWN_DOOR = door(Role, Role)
"""What everybody who is signed in may do for themselves."""


def _who(request: Request) -> Who:
    who: Who | None = request.state.who
    if who is None:
        raise NotSignedIn
    return who


TheWho = Annotated[Who, Depends(_who)]
