"""The front door."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import PlainTextResponse, RedirectResponse

from webapp.auth.roles import Role, Who

router = APIRouter()


@router.get("/")
def home(request: Request) -> RedirectResponse:
    """To the week; to the board where a screen on the wall is signed in."""
    who: Who | None = request.state.who
    return RedirectResponse("/board" if who is not None and who.role is Role.BOARD else "/week", 303)


@router.get("/alive")
def alive() -> PlainTextResponse:
    """For whoever watches the server."""
    return PlainTextResponse("alive")
