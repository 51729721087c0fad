"""The bench calculators: what is typed is in the address, nothing is kept."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse

from domain.saying import say
from webapp.actions.bench import load_bench
from webapp.pages import Page, Part, answer, wants_part
from webapp.routes.edge import Db, TheSettings, in_its_ways
from webapp.views.bench.sheet import Slip
from webapp.views.bench.tools import TOOLS, Tool

router = APIRouter(prefix="/bench")


@dataclass(frozen=True, kw_only=True)
class BenchPage(Page):
    template: ClassVar[str] = "bench/overview.html"
    here: ClassVar[str] = "bench"

    tools: tuple[Tool, ...] = TOOLS


@dataclass(frozen=True, kw_only=True)
class SlipPart(Part):
    """``live``: swapped in by htmx, so that what is wrong with a field is carried beside it."""

    template: ClassVar[str] = "bench/_answer.html"

    slip: Slip
    live: bool


@dataclass(frozen=True, kw_only=True)
class ToolPage(Page):
    template: ClassVar[str] = "bench/tool.html"
    here: ClassVar[str] = "bench"

    tools: tuple[Tool, ...] = TOOLS
    tool: Tool
    slip: Slip
    live: bool = False


@router.get("")
def bench(request: Request) -> HTMLResponse:
    return answer(request, BenchPage(title=say("Bench")))


@router.get("/{key}")
def tool(request: Request, key: str, db: Db, settings: TheSettings) -> HTMLResponse:
    typed = in_its_ways(dict(request.query_params))
    chosen = next((one for one in TOOLS if one.key == key), None)
    if chosen is None:
        raise HTTPException(404)
    with db.read() as session:
        there, today = load_bench(session, settings)
    slip = chosen.work_out(there, typed, today)
    if wants_part(request):
        return answer(request, SlipPart(slip=slip, live=True))
    return answer(request, ToolPage(title=chosen.name, tool=chosen, slip=slip))
