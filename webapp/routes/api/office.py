"""Feeds, copies, and weeks that are brought in, for other software."""

from __future__ import annotations

from fastapi import Request
from fastapi.responses import Response

from webapp.actions import calendar, exchange
from webapp.actions import copies as copy_actions
from webapp.actions.planning import SHOP
from webapp.exchange.api.base import Done
from webapp.exchange.api.office import (
    CopyDocument,
    CopyList,
    CopyRuleDocument,
    FeedDocument,
    FeedList,
    FeedMade,
    FeedWanted,
    WeekChange,
    WeekPreview,
    WeekTaken,
)
from webapp.exchange.documents import WeekDocument
from webapp.exchange.loading import WrongDocument
from webapp.keeper import Keeper
from webapp.problems import Refused
from webapp.routes.api.common import Number, noun, told
from webapp.routes.edge import Db, TheSettings
from webapp.routes.week import TheRunner
from webapp.store import calendar_feeds
from webapp.store.copies import copies_in, rule
from webapp.store.week import load_rules

feeds = noun("/feeds", "Calendar feeds")
copies = noun("/copies", "Copies")
week = noun("/week", "Plan")


@feeds.get("", response_model=FeedList, summary="List the calendar feeds")
def listing(db: Db) -> Response:
    with db.read() as session:
        rows = calendar_feeds.feeds(session)
    return told(FeedList(items=tuple(FeedDocument(number=row.id or 0, name=row.name) for row in rows)))


@feeds.post("", status_code=201, response_model=FeedMade, summary="Make a calendar feed")
def make(db: Db, body: FeedWanted) -> Response:
    return told(FeedMade(path=f"/calendar/{calendar.make_feed(db, {'name': body.name})}.ics"), 201)


@feeds.delete("/{number}", response_model=Done, summary="Withdraw a calendar feed")
def withdraw(db: Db, number: Number) -> Response:
    return told(Done(said=calendar.withdraw(db, number)))


@copies.get("", response_model=CopyList, summary="List the copies of the complete shop")
def kept(request: Request, db: Db) -> Response:
    keeper: Keeper = request.app.state.keeper
    with db.read() as session:
        wanted = rule(session)
    items = (
        CopyDocument(name=c.path.name, kind=c.kind, made_at=c.made_at.isoformat(timespec="minutes"), bytes=c.size)
        for c in copies_in(db, keeper.folder)
    )
    return told(CopyList(rule=CopyRuleDocument(daily=wanted.daily, keep=wanted.keep), items=tuple(items)))


@copies.post("", status_code=201, response_model=Done, summary="Make a copy of the complete shop now")
def copy_now(request: Request, db: Db, settings: TheSettings) -> Response:
    keeper: Keeper = request.app.state.keeper
    with db.read() as session:
        zone = load_rules(session).timezone
    made = copy_actions.copy_now(db, keeper.folder, settings.now(zone))
    return told(Done(said=f"The copy {made.name} was made, read back and found whole."), 201)


@copies.put("/rule", response_model=CopyRuleDocument, summary="Say how many copies are kept")
def change_rule(db: Db, body: CopyRuleDocument) -> Response:
    with db.write() as session:
        copy_actions.change_rule(session, {"keep": f"{body.keep}", **({"daily": "on"} if body.daily else {})})
    return told(body)


@week.post("/preview", response_model=WeekPreview, summary="Look at what a week would change; nothing is saved")
def preview(db: Db, settings: TheSettings, body: WeekDocument) -> Response:
    try:
        found = exchange.preview_week(db, settings, body.model_dump_json().encode())
    except WrongDocument as error:
        problems = {one.path: one.message for one in error.problems[:100]}
        raise Refused(422, "Nothing was brought in: something in the week is wrong.", errors=problems) from None
    changes = (WeekChange(what=c.what, new=c.new, changed=c.changed, gone=c.gone, same=c.same) for c in found.changes)
    return told(WeekPreview(key=found.key, jobs=found.jobs, changes=tuple(changes)))


@week.post("/load", response_model=Done, summary="Bring a previewed week in, in place of what is there; a copy is made first")
def load(db: Db, settings: TheSettings, runner: TheRunner, body: WeekTaken) -> Response:
    if runner.state(SHOP).busy:
        raise Refused(409, "A plan is being made for the week that is here. Stop it or wait for it, then bring the week in.")
    copy = exchange.load_previewed(db, settings, body.key)
    return told(Done(said=f"The week was brought in. What was here before is kept in the copy {copy.name}."))
