"""The owner's copies of the complete shop."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import ClassVar

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import FileResponse, Response
from starlette.background import BackgroundTask

from domain.errors import DomainError, InvalidValue
from domain.saying import say
from webapp.actions import copies as actions
from webapp.formats import count, moment
from webapp.keeper import Keeper
from webapp.pages import Page, answer, see_other
from webapp.routes.edge import Db, TheSettings, Typed
from webapp.store.archive import write_archive
from webapp.store.copies import Copy, Kind, copies_in, name_for, rule
from webapp.store.engine import Database
from webapp.store.week import load_rules

router = APIRouter(prefix="/copies")

WHY = {
    Kind.DAILY: say("daily"),
    Kind.HAND: say("made by hand"),
    Kind.UPGRADE: say("before an upgrade of the program"),
    Kind.WEEK: say("before another week was brought in"),
}


@dataclass(frozen=True, kw_only=True)
class CopyLine:
    name: str
    why: str
    made: str
    age: str
    size: str


@dataclass(frozen=True, kw_only=True)
class CopiesPage(Page):
    """``failed``: why the last daily copy could not be made. ``typed``: the form as it was sent."""

    template: ClassVar[str] = "copies/copies.html"
    here: ClassVar[str] = "shop"

    copies: tuple[CopyLine, ...]
    folder: str
    daily: bool
    keep: str
    failed: str
    error: str
    most: int = actions.MOST_KEPT


@router.get("")
def overview(request: Request, db: Db) -> Response:
    return _page(request, db)


@router.post("")
def copy_now(request: Request, db: Db, settings: TheSettings) -> Response:
    keeper: Keeper = request.app.state.keeper
    made = actions.copy_now(db, keeper.folder, settings.now(_timezone(db)))
    return see_other("/copies", say("The copy {name} was made, read back and found whole.", name=made.name))


@router.post("/rule")
def change_rule(request: Request, db: Db, typed: Typed) -> Response:
    try:
        with db.write() as session:
            wanted = actions.change_rule(session, typed)
    except InvalidValue as error:
        return _page(request, db, typed, str(error))
    said = (
        say("A copy is made each day, and the newest {keep} are kept.", keep=wanted.keep)
        if wanted.daily
        else say("No daily copies are made.")
    )
    return see_other("/copies", said)


@router.get("/now.zip")
def download_now(db: Db, settings: TheSettings) -> Response:
    """The shop as it is at this moment; the file is gone from the server once it was sent."""
    folder = tempfile.TemporaryDirectory(prefix="castweek-")
    target = name_for(db, Path(folder.name), Kind.HAND, settings.now(_timezone(db)))
    try:
        write_archive(db, target)
    except DomainError:
        folder.cleanup()
        raise
    return _download(target, BackgroundTask(folder.cleanup))


@router.get("/{name}")
def download(request: Request, db: Db, name: str) -> Response:
    keeper: Keeper = request.app.state.keeper
    found = next((copy for copy in copies_in(db, keeper.folder) if copy.path.name == name), None)
    if found is None:
        raise HTTPException(404)
    return _download(found.path)


def _download(path: Path, after: BackgroundTask | None = None) -> Response:
    headers = {"Cache-Control": "no-store"}
    return FileResponse(path, filename=path.name, media_type="application/octet-stream", headers=headers, background=after)


def _timezone(db: Database) -> str:
    with db.read() as session:
        return load_rules(session).timezone


def _page(request: Request, db: Database, typed: dict[str, str] | None = None, error: str = "") -> Response:
    keeper: Keeper = request.app.state.keeper
    today = keeper.settings.now(_timezone(db)).date()
    with db.read() as session:
        wanted = rule(session)
    page = CopiesPage(
        title=say("Copies"),
        copies=tuple(_line(copy, today) for copy in copies_in(db, keeper.folder)),
        folder=str(keeper.folder),
        daily=wanted.daily if typed is None else typed.get("daily") == "on",
        keep=str(wanted.keep) if typed is None else typed.get("keep", ""),
        failed=keeper.failed,
        error=error,
    )
    return answer(request, page, 422 if error else 200)


def _line(copy: Copy, today: date) -> CopyLine:
    days = (today - copy.made_at.date()).days
    age = say("today") if days <= 0 else say("yesterday") if days == 1 else say("{days} ago", days=count(days, "day"))
    made = f"{moment(copy.made_at)}, {copy.made_at.year}"
    return CopyLine(name=copy.path.name, why=WHY[copy.kind], made=made, age=age, size=_size(copy.size))


def _size(size: int) -> str:
    return f"{size / 1_000_000:.1f} MB" if size >= 1_000_000 else f"{max(1, round(size / 1000))} kB"
