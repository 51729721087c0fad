"""In which units people read: their own choice, and the shop's."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, Request
from fastapi.responses import Response

from domain.saying import say
from webapp.actions import setup as setup_actions
from webapp.actions import ways as actions
from webapp.pages import Page, Part, answer, see_other
from webapp.routes.doors import TheWho
from webapp.routes.edge import Db, Typed
from webapp.setup_steps import BY_STEP, STEPS, Step
from webapp.store import setup
from webapp.store import ways as store
from webapp.views.ways import WaysField, example, ways_fields
from webapp.ways import chosen, current, unchosen

own = APIRouter(prefix="/who/units")
shop = APIRouter(prefix="/setup/units")


@dataclass(frozen=True, kw_only=True)
class ExamplePart(Part):
    template: ClassVar[str] = "ways/_example.html"

    example: tuple[tuple[str, str], ...]


@dataclass(frozen=True, kw_only=True)
class OwnWaysPage(Page):
    """``own``: whether they chose for themselves."""

    template: ClassVar[str] = "ways/own.html"

    own: bool
    fields: tuple[WaysField, ...]
    example: tuple[tuple[str, str], ...]


@dataclass(frozen=True, kw_only=True)
class ShopWaysPage(Page):
    template: ClassVar[str] = "ways/shop.html"
    here: ClassVar[str] = "shop"

    steps: tuple[Step, ...] = STEPS
    gone: dict[str, str]
    step: Step
    fields: tuple[WaysField, ...]
    example: tuple[tuple[str, str], ...]


@own.get("")
def mine(request: Request, db: Db, who: TheWho) -> Response:
    with db.read() as session:
        chose = store.own(session, who.account) is not None
        ways = store.of_account(session, who.account, unchosen())
    title = say("My units") if who.account else say("Units")
    return answer(request, OwnWaysPage(title=title, own=chose, fields=ways_fields(ways), example=example(ways)))


@own.get("/example")
def what_if(request: Request) -> Response:
    """The example as the fields are chosen, before they are saved."""
    return answer(request, ExamplePart(example=example(chosen(dict(request.query_params), current()))))


@own.post("")
def choose(db: Db, who: TheWho, typed: Typed) -> Response:
    with db.write() as session:
        said = actions.choose_own(session, who, typed)
    return see_other("/who/units", said)


@shop.get("")
def of_shop(request: Request, db: Db) -> Response:
    with db.read() as session:
        ways, gone = store.of_account(session, None, unchosen()), setup.gone_through(session)
    page = ShopWaysPage(title=say("Units"), gone=gone, step=BY_STEP[actions.STEP], fields=ways_fields(ways), example=example(ways))
    return answer(request, page)


@shop.post("")
def choose_for_shop(db: Db, typed: Typed) -> Response:
    with db.write() as session:
        said = actions.choose_for_shop(session, typed)
    return see_other(f"/setup/{STEPS[1].slug}", said)


@shop.post("/skip")
def skip(db: Db) -> Response:
    with db.write() as session:
        setup_actions.skip(session, BY_STEP[actions.STEP])
    return see_other(f"/setup/{STEPS[1].slug}", say("Units: skipped. The shop reads metric until you change it."))
