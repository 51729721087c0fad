"""What all routes for other software share: addresses, answers, refusals as they stand in the description."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Path, Query
from fastapi.responses import Response
from pydantic import BaseModel

from domain.saying import say
from webapp.actions.saving import Saved
from webapp.auth.roles import Who
from webapp.problems import MEDIA_TYPE, Refused
from webapp.routes.once import Once

BASE = "/api/v1"
REFUSALS = {
    400: say("The body is not JSON"),
    401: say("No token, or one that opens nothing"),
    403: say("The role may not do this"),
    404: say("There is no such thing"),
    409: say("Somebody else was faster, a checklist is open, or something is asked first; nothing was changed"),
    422: say("Something in what was sent is wrong; nothing was changed"),
    503: say("The database does not answer"),
}
_PROBLEM = {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}}
PROBLEMS: dict[int | str, dict[str, Any]] = {code: {"description": text, "content": _PROBLEM} for code, text in REFUSALS.items()}
PROBLEMS[413] = {"description": "More than 6 MB"}
"""said before anything of it is read, and in plain text"""
PLAIN = r"^[^\x00-\x1f\x7f]+$"

Key = Annotated[str, Path(max_length=200, pattern=PLAIN, description="Its id, as in the lists")]
Number = Annotated[int, Path(ge=1, le=10**12, description="Its number, as in the lists")]
Before = Annotated[int | None, Query(ge=1, le=10**12, description="Only what is older than this number, for the next part")]


def noun(prefix: str, *tags: str, changes_once: bool = True) -> APIRouter:
    """A router. ``changes_once``: what is sent twice with the same Idempotency-Key happens once."""
    route = {"route_class": Once} if changes_once else {}
    return APIRouter(prefix=BASE + prefix, tags=[*tags], responses=PROBLEMS, **route)  # type: ignore[arg-type]


def told(answer: BaseModel, status: int = 200) -> Response:
    return Response(answer.model_dump_json(), status, media_type="application/json", headers={"Cache-Control": "no-store"})


def refuse_unless_done(saved: Saved, within: str = "") -> None:
    """Raises ``Refused`` for what was not saved. ``within``: where in the body the fields stand."""
    if saved.overtaken:
        detail = "Nothing was changed: somebody else saved a newer version since you read it. Read it again, then change that."
        raise Refused(409, detail, kind="overtaken", version=saved.version)
    if not saved.done:
        errors = {f"{within}.{field}" if within and field else field or within: text for field, text in saved.errors.items()}
        raise Refused(422, f"Nothing was changed: {'; '.join(saved.errors.values())}", errors=errors)


def doer(who: Who) -> str:
    """Who stands in the record."""
    return who.name
