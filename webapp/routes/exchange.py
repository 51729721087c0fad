"""The week and the plan as files: take them out, bring a week in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar

from fastapi import APIRouter, Form, Request, UploadFile
from fastapi.responses import Response

from domain.errors import DomainError
from domain.saying import listed, say
from webapp.actions import exchange
from webapp.actions.exchange import Change, Preview
from webapp.actions.planning import SHOP
from webapp.exchange.loading import LARGEST, Problem, WrongDocument
from webapp.pages import Page, answer, see_other
from webapp.routes.edge import Db, TheSettings

router = APIRouter(prefix="/exchange")
SHOWN = 100
"""errors listed"""
NAMED = 8
"""ids listed before the rest is only counted"""


@dataclass(frozen=True, kw_only=True)
class ExchangePage(Page):
    """``problems``: what is wrong with the file that was sent; ``more``: how many are not shown."""

    template: ClassVar[str] = "exchange/exchange.html"
    here: ClassVar[str] = "shop"

    has_plan: bool
    problems: tuple[Problem, ...] = ()
    more: int = 0


@dataclass(frozen=True, kw_only=True)
class Line:
    """A list, and in words what would become of it."""

    what: str
    new: str
    changed: str
    gone: str
    same: int


@dataclass(frozen=True, kw_only=True)
class PreviewPage(Page):
    template: ClassVar[str] = "exchange/preview.html"
    here: ClassVar[str] = "shop"

    preview: Preview
    lines: tuple[Line, ...]


@router.get("")
def overview(request: Request, db: Db) -> Response:
    return answer(request, ExchangePage(title=say("Files"), has_plan=exchange.plan_document(db) is not None))


@router.get("/week.json")
def week(db: Db, settings: TheSettings) -> Response:
    document = exchange.week_document(db, settings)
    return _download(document.model_dump_json(indent=2), f"castweek-week-{document.now:%Y-%m-%d}.json")


@router.get("/plan.json")
def plan(db: Db) -> Response:
    document = exchange.plan_document(db)
    if document is None:
        raise DomainError(say("There is no plan yet. Plan the week first."))
    return _download(document.model_dump_json(indent=2), f"castweek-plan-{document.first_day}.json")


@router.post("/preview")
def preview(request: Request, db: Db, settings: TheSettings, file: UploadFile | None = None) -> Response:
    try:
        if file is None or not file.filename:
            raise WrongDocument.single(say("no file was chosen"))
        sent = exchange.preview_week(db, settings, file.file.read(LARGEST + 1))
    except WrongDocument as error:
        return _refused(request, db, error)
    page = PreviewPage(title=say("Bring in this week?"), preview=sent, lines=tuple(map(_line, sent.changes)))
    return answer(request, page)


@router.post("/load")
def load(request: Request, db: Db, settings: TheSettings, key: Annotated[str, Form()] = "") -> Response:
    try:
        if request.app.state.runner.state(SHOP).busy:
            raise DomainError(
                say("A plan is being made for the week that is here. Stop it or wait for it, then bring the week in.")
            )
        copy = exchange.load_previewed(db, settings, key)
    except DomainError as error:
        return _refused(request, db, WrongDocument.single(str(error)))
    return see_other("/week", say("The week was brought in. What was here before is kept in the copy {name}.", name=copy.name))


def _refused(request: Request, db: Db, error: WrongDocument) -> Response:
    page = ExchangePage(
        title=say("Files"),
        has_plan=exchange.plan_document(db) is not None,
        problems=error.problems[:SHOWN],
        more=max(0, len(error.problems) - SHOWN),
    )
    return answer(request, page, 422)


def _line(change: Change) -> Line:
    return Line(what=change.what, new=_ids(change.new), changed=_ids(change.changed), gone=_ids(change.gone), same=change.same)


def _ids(keys: tuple[str, ...]) -> str:
    rest = say(" and {number} more", number=len(keys) - NAMED) if len(keys) > NAMED else ""
    return say("{number}: {keys}{rest}", number=len(keys), keys=listed(keys[:NAMED]), rest=rest) if keys else say("none")


def _download(text: str, name: str) -> Response:
    headers = {"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "no-store"}
    return Response(text, media_type="application/json", headers=headers)
