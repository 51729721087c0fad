"""The front door."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import FileResponse, JSONResponse, PlainTextResponse, RedirectResponse

from webapp.auth.roles import Role, Who
from webapp.log import log
from webapp.pages import resource_folder
from webapp.routes.edge import Db
from webapp.store.trouble import Unavailable
from webapp.store.upgrading import is_current

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


@router.get("/worker.js")
def worker() -> FileResponse:
    """What keeps the floor's pages readable without network. A worker reaches no further than its own folder, so this
    one is at the top."""
    return FileResponse(
        resource_folder("static") / "worker.js", media_type="text/javascript", headers={"Cache-Control": "no-cache"}
    )


@router.get("/health")
def health(db: Db) -> JSONResponse:
    """Whether the server can do its work, and nothing else, because anybody may ask: 200, or 503 with the reason
    in the log."""
    try:
        ok = is_current(db)
    except Unavailable as error:
        log.error("not healthy", extra={"facts": {"reason": str(error)}})
        ok = False
    return JSONResponse({"ok": ok}, 200 if ok else 503, headers={"Cache-Control": "no-store"})
