"""Help: the trade's words, a guide to print for each kind of user, the keys of the desk."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, Request
from fastapi.responses import Response
from starlette.exceptions import HTTPException

from domain.saying import say
from domain.terms import Term, terms
from webapp.pages import Page, answer
from webapp.views.guides import GO, Guide, guides

router = APIRouter(prefix="/help")


@dataclass(frozen=True, kw_only=True)
class HelpPage(Page):
    template: ClassVar[str] = "help/help.html"

    terms: tuple[Term, ...]
    guides: tuple[Guide, ...]


@dataclass(frozen=True, kw_only=True)
class GuidePage(Page):
    template: ClassVar[str] = "help/guide.html"

    guide: Guide


@dataclass(frozen=True, kw_only=True)
class KeysPage(Page):
    """``go``: the letter after G, what it opens, and where."""

    template: ClassVar[str] = "help/keys.html"

    go: tuple[tuple[str, str, str], ...] = GO


@router.get("")
def words(request: Request) -> Response:
    return answer(request, HelpPage(title=say("Help"), terms=terms(), guides=guides()))


@router.get("/keys")
def keys(request: Request) -> Response:
    return answer(request, KeysPage(title=say("Keys")))


@router.get("/guide/{key}")
def guide(request: Request, key: str) -> Response:
    found = next((one for one in guides() if one.key == key), None)
    if found is None:
        raise HTTPException(404)
    return answer(request, GuidePage(title=found.title, guide=found))
