"""The week for calendars outside: a file, and private addresses."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response
from markupsafe import Markup
from starlette.exceptions import HTTPException

from domain.errors import InvalidValue
from domain.saying import say
from webapp import formats
from webapp.actions import calendar as actions
from webapp.exchange.calendar import MEDIA_TYPE
from webapp.pages import Page, answer, see_other
from webapp.routes.edge import Db, TheSettings, Typed, address_for_tablets
from webapp.settings import LOOPBACK
from webapp.store import calendar_feeds as store
from webapp.store.week import load_rules
from webapp.views.numbers import qr_code

router = APIRouter(prefix="/calendar")
file = APIRouter()
feed = APIRouter()
"""Without sign-in: the address itself is the key."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """``made``: in the shop's local time."""

    id: int | None
    name: str
    made: datetime


@dataclass(frozen=True, kw_only=True)
class CalendarPage(Page):
    """``address``: of the feed that was made just now, shown this once, and ``code``, which a
    camera reads as it. ``here_only``: nobody but this machine
    reaches the server. ``typed`` and ``error``: the name of a new feed."""

    template: ClassVar[str] = "week/calendar.html"
    here: ClassVar[str] = "week"

    feeds: tuple[Feed, ...]
    address: str
    code: Markup
    here_only: bool
    typed: str
    error: str


@router.get("")
def calendar(request: Request, db: Db, settings: TheSettings) -> HTMLResponse:
    return _page(request, db, settings)


@router.post("")
def make(request: Request, db: Db, settings: TheSettings, typed: Typed) -> HTMLResponse:
    try:
        token = actions.make_feed(db, typed)
    except InvalidValue as error:
        return _page(request, db, settings, typed=typed.get("name", ""), error=str(error))
    return _page(request, db, settings, address=f"{address_for_tablets(request)}/calendar/{token}.ics")


@router.post("/{id}/withdraw")
def withdraw(db: Db, id: int) -> Response:
    return see_other("/calendar", actions.withdraw(db, id))


@file.get("/week/castweek.ics")
def as_file(db: Db, settings: TheSettings) -> Response:
    with db.read() as session:
        return _calendar(actions.week_calendar(session, settings))


@feed.get("/calendar/{token}.ics")
def read_feed(db: Db, settings: TheSettings, token: str) -> Response:
    found = actions.fed(db, settings, token)
    if found is None:
        raise HTTPException(404)
    return _calendar(found)


def _calendar(content: bytes) -> Response:
    headers = {"Content-Disposition": 'attachment; filename="castweek.ics"', "Cache-Control": "no-store"}
    return Response(content, media_type=MEDIA_TYPE, headers=headers)


def _page(request: Request, db: Db, settings: TheSettings, *, address: str = "", typed: str = "", error: str = "") -> HTMLResponse:
    with db.read() as session:
        zone = load_rules(session).timezone
        feeds = tuple(Feed(id=row.id, name=row.name, made=formats.local(row.made_at, zone)) for row in store.feeds(session))
    here_only = settings.host in LOOPBACK
    code = qr_code(address) if address else Markup()
    page = CalendarPage(
        title=say("Calendar"), feeds=feeds, address=address, code=code, here_only=here_only, typed=typed, error=error
    )
    return answer(request, page, 422 if error else 200)
