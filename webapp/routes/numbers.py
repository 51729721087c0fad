"""A flask by its short number: what a camera reads on its ticket, and what is typed on the tablet."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import APIRouter
from fastapi.responses import Response

from domain.errors import DomainError
from webapp.pages import see_other
from webapp.routes.edge import Db
from webapp.store import plans
from webapp.store.engine import Database
from webapp.views.numbers import flask_of_number

router = APIRouter(prefix="/f")


@router.get("")
def by_form(db: Db, number: str = "") -> Response:
    return see_other(_address(db, number))


@router.get("/{number}")
def by_link(db: Db, number: str) -> Response:
    return see_other(_address(db, number))


def _address(db: Database, number: str) -> str:
    with db.read() as session:
        stored = plans.current_plan(session)
    flask = flask_of_number((f.id for f in stored.plan.flasks) if stored else (), number)
    if flask is None:
        typed = number.strip()[:20]
        raise DomainError(f"There is no flask {typed} in the current plan." if typed else "Type the number on the flask's ticket.")
    return f"/flask/{quote(flask, safe='')}"
