"""What there is to ask: as OpenAPI for programs, and as pages for people."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib.metadata import version
from typing import Any, ClassVar

from fastapi import APIRouter, HTTPException, Request
from fastapi.openapi.utils import get_openapi
from fastapi.responses import HTMLResponse, JSONResponse, Response
from fastapi.routing import APIRoute

from domain.saying import say
from webapp.auth.roles import Role
from webapp.exchange.api.base import Problem
from webapp.pages import Page, answer
from webapp.routes.api.common import BASE, REFUSALS
from webapp.routes.api.table import API
from webapp.routes.edge import address_for_tablets
from webapp.views.api import Chapter, chapters

document = APIRouter()
"""Without a token: it says nothing of the shop."""
pages = APIRouter(prefix="/help/api")
ABOUT = say(
    "Everything that the screens do, for scripts and spreadsheets. Numbers are in the unit that their description names; "
    "a text with a unit of its own, such as “1.2 dwt”, is read too. What is refused changes nothing. Send an "
    "Idempotency-Key with a change, and what is sent twice happens once."
)
KEY = {
    "name": "Idempotency-Key",
    "in": "header",
    "required": False,
    "description": "The same key with the same content changes nothing again and gets the first answer",
    "schema": {"type": "string", "maxLength": 200, "pattern": "^[!-~]+$"},
}


@dataclass(frozen=True, kw_only=True)
class ApiPage(Page):
    """``refusals``: by status, in words."""

    template: ClassVar[str] = "help/api.html"

    about: str
    server: str
    base: str = BASE
    chapters: tuple[Chapter, ...]
    refusals: tuple[tuple[int, str], ...] = tuple(REFUSALS.items())


@dataclass(frozen=True, kw_only=True)
class ChapterPage(Page):
    template: ClassVar[str] = "help/api_chapter.html"

    chapter: Chapter
    chapters: tuple[Chapter, ...]


@document.get(f"{BASE}/openapi.json", include_in_schema=False)
def openapi() -> Response:
    return JSONResponse(description(), headers={"Cache-Control": "no-cache"})


@pages.get("")
def overview(request: Request) -> HTMLResponse:
    server = address_for_tablets(request)
    page = ApiPage(title=say("For other software"), about=ABOUT, server=server, chapters=chapters(description(), server))
    return answer(request, page)


@pages.get("/{key}")
def chapter(request: Request, key: str) -> HTMLResponse:
    every = chapters(description(), address_for_tablets(request))
    found = next((one for one in every if one.key == key), None)
    if found is None:
        raise HTTPException(404)
    return answer(
        request, ChapterPage(title=say("For other software: {chapter}", chapter=found.title), chapter=found, chapters=every)
    )


@cache
def description() -> dict[str, Any]:
    """The OpenAPI document. ``x-roles``: who may."""
    every = APIRouter()
    roles: dict[tuple[str, str], list[str]] = {}
    for router, door in API:
        every.include_router(router)
        for route in (one for one in router.routes if isinstance(one, APIRoute)):
            for method in route.methods or ():
                roles[route.path_format, method.lower()] = [role.value for role in Role if door.lets(role, method)]
    found = get_openapi(title="Castweek", version=version("castweek"), description=ABOUT, routes=every.routes)
    for path, methods in found["paths"].items():
        for method, call in methods.items():
            call["x-roles"] = roles[path, method]
            if method != "get":
                call.setdefault("parameters", []).append(KEY)
    found["components"]["schemas"]["Problem"] = _problem(found["components"]["schemas"])
    found["components"]["securitySchemes"] = {"token": {"type": "http", "scheme": "bearer"}}
    found["security"] = [{"token": []}]
    return found


def _problem(schemas: dict[str, Any]) -> dict[str, Any]:
    schema = Problem.model_json_schema(ref_template="#/components/schemas/{model}")
    schemas.update(schema.pop("$defs", {}))
    return schema
