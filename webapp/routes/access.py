"""Access for other software: made and ended by whoever may give the role."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import ClassVar

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from domain.errors import InvalidValue
from domain.saying import say
from webapp import formats
from webapp.actions import access as actions
from webapp.auth.roles import Role, Who, may_let_in
from webapp.pages import Page, answer, see_other
from webapp.routes.api.common import BASE
from webapp.routes.doors import TheWho
from webapp.routes.edge import Db, Typed, address_for_tablets
from webapp.store import access as store
from webapp.store.engine import Database
from webapp.store.week import load_rules

router = APIRouter(prefix="/people/access")

MAY = {
    Role.OWNER: say("everything, also the complete shop as a file"),
    Role.MANAGER: say("jobs, plan, metal, shop, and the floor"),
    Role.CASTER: say("reads, and records the floor"),
    Role.BOARD: say("only learns who it is"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class AccessLine:
    """``made``: in the shop's local time. ``used_on``: an ISO date, empty for never. ``theirs``: the reader may end it."""

    id: int | None
    name: str
    role: Role
    maker: str
    made: datetime
    used_on: str
    theirs: bool


@dataclass(frozen=True, kw_only=True)
class AccessPage(Page):
    """``token``: of the access that was made just now, shown this once. ``roles``: that the reader may give, with what
    they may do."""

    template: ClassVar[str] = "people/access.html"

    lines: tuple[AccessLine, ...]
    token: str
    example: str
    roles: tuple[tuple[Role, str], ...]
    typed: dict[str, str]
    errors: dict[str, str]


@router.get("")
def access(request: Request, db: Db, who: TheWho) -> HTMLResponse:
    return _page(request, db, who)


@router.post("")
def give(request: Request, db: Db, who: TheWho, typed: Typed) -> HTMLResponse:
    try:
        return _page(request, db, who, token=actions.give(db, who, typed))
    except InvalidValue as error:
        return _page(request, db, who, typed=typed, errors={error.field: str(error)})


@router.post("/{id}/end")
def end(db: Db, who: TheWho, id: int) -> Response:
    return see_other("/people/access", actions.end(db, who, id))


def _page(
    request: Request,
    db: Database,
    who: Who,
    *,
    token: str = "",
    typed: dict[str, str] | None = None,
    errors: dict[str, str] | None = None,
) -> HTMLResponse:
    with db.read() as session:
        zone, rows = load_rules(session).timezone, store.accesses(session)
    page = AccessPage(
        title=say("Access for other software"),
        lines=tuple(
            AccessLine(
                id=row.id,
                name=row.name,
                role=row.role,
                maker=maker,
                made=formats.local(row.made_at, zone),
                used_on=row.used_on,
                theirs=may_let_in(who, row.role),
            )
            for row, maker in rows
        ),
        token=token,
        example=f'curl -H "Authorization: Bearer {token or "TOKEN"}" {address_for_tablets(request)}{BASE}/who',
        roles=tuple((role, words) for role, words in MAY.items() if role is not Role.BOARD and may_let_in(who, role)),
        typed=typed or {},
        errors=errors or {},
    )
    return answer(request, page, 422 if errors else 200)
