"""The trade's words, explained."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, Request
from fastapi.responses import Response

from domain.terms import Term, terms
from webapp.pages import Page, answer

router = APIRouter(prefix="/help")


@dataclass(frozen=True, kw_only=True)
class HelpPage(Page):
    template: ClassVar[str] = "help/help.html"

    terms: tuple[Term, ...]


@router.get("")
def words(request: Request) -> Response:
    return answer(request, HelpPage(title="Words of the trade", terms=terms()))
