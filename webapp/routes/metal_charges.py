"""One flask's charge as it is and as it was, and the real tree that it is worked out from."""

from __future__ import annotations

import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import ClassVar

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from domain.books.content import Content, composition_of
from domain.errors import InvalidValue
from domain.planning.plan import Plan, PlannedFlask
from domain.saying import say
from domain.stock.real_tree import expected_tree
from domain.stock.week_charges import Shortage
from domain.units import Mass, Share
from webapp.actions import melts
from webapp.actions import metal as actions
from webapp.actions.planning import Desk, load_desk
from webapp.actions.prints import find_flask
from webapp.pages import Page, answer, see_other
from webapp.routes.edge import Db, TheSettings, Typed
from webapp.settings import Settings
from webapp.store import charges
from webapp.store.charges import Before
from webapp.store.engine import Database
from webapp.views.flask import ChargeSheet, PartLine, charge_sheet, part_line

router = APIRouter()


@dataclass(frozen=True, slots=True, kw_only=True)
class OldCharge:
    """``until``: local time at which another charge took its place, for ``reason``."""

    until: datetime
    reason: str
    asked: Mass
    fineness: Share | None
    parts: tuple[PartLine, ...]


@dataclass(frozen=True, kw_only=True)
class ChargesPage(Page):
    """``weighed``: what the books say was charged, with the precious metal's share of it. ``expected``: what the tree
    should weigh without its base, none where that is not known any more. ``tree``:
    what it weighed. ``short``: why there is no charge."""

    template: ClassVar[str] = "metal/charges.html"
    here: ClassVar[str] = "week"

    flask: str
    asked: Mass
    charge: ChargeSheet | None
    weighed: Mass
    holds: tuple[str, Share] | None
    short: Shortage | None
    expected: Mass | None
    tree: Mass | None
    weighed_at: datetime | None
    before: tuple[OldCharge, ...]
    open: bool
    key: str
    typed: Mapping[str, str] = field(default_factory=dict)
    errors: Mapping[str, str] = field(default_factory=dict)


def _page(
    request: Request, db: Database, settings: Settings, name: str, typed: Mapping[str, str] = {}, error: InvalidValue | None = None
) -> HTMLResponse:
    with db.read() as session:
        desk = load_desk(session, settings)
        tree, before = charges.tree_of(session, name), charges.charges_before(session, name)
        weighed = melts.weighed_in(session, name)
    found, flask = find_flask(desk, name)
    page = ChargesPage(
        title=say("Charge of flask {name}", name=name),
        flask=name,
        asked=flask.charge,
        charge=charge_sheet(desk.problem, found.plan, flask),
        weighed=weighed.mass,
        holds=_holds(desk, flask, weighed),
        short=next((s for s in actions.in_the_way(desk) if s.flask == name), None),
        expected=_expected(desk, flask),
        tree=tree.tree if tree else None,
        weighed_at=desk.local(tree.at) if tree else None,
        before=tuple(_old(desk, found.plan, flask, one) for one in before),
        open=desk.problem.on_shelf(flask),
        key=secrets.token_urlsafe(12),
        typed=typed,
        errors={error.field if error.field in ("gross", "base") else "gross": str(error)} if error else {},
    )
    return answer(request, page, 422 if error else 200)


def _holds(desk: Desk, flask: PlannedFlask, weighed: Content) -> tuple[str, Share] | None:
    """The precious metal of the alloy's standard, and its share of what was weighed in."""
    melt = desk.problem.melt.get(flask.melt)
    standard = melt.alloy.standard if melt else None
    if standard is None or not weighed.mass.base:
        return None
    return standard.element, composition_of(weighed).get(standard.element, Share(0))


def _expected(desk: Desk, flask: PlannedFlask) -> Mass | None:
    try:
        return expected_tree(desk.problem, flask)
    except InvalidValue:
        return None


def _old(desk: Desk, plan: Plan, flask: PlannedFlask, one: Before) -> OldCharge:
    parts = tuple(part_line(desk.problem, plan, flask, part) for part in one.parts)
    return OldCharge(until=desk.local(one.at), reason=one.reason, asked=one.asked, fineness=one.fineness, parts=parts)


@router.get("/charge/{name}")
def charge(request: Request, db: Db, settings: TheSettings, name: str) -> HTMLResponse:
    return _page(request, db, settings, name)


@router.post("/charge/{name}/tree")
def tree(request: Request, db: Db, settings: TheSettings, name: str, typed: Typed) -> Response:
    try:
        again = actions.weigh_tree(db, settings, name, typed.get("gross", ""), typed.get("base", ""), typed.get("key", ""))
    except InvalidValue as error:
        return _page(request, db, settings, name, typed, error)
    return see_other(f"/metal/charge/{name}", say("The tree of {name} is weighed.{again}", name=name, again=again.words))
