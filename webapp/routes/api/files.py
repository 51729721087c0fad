"""Lists as files and the complete shop, for other software: what the pages offer for download."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Literal, TypeAlias

from fastapi.responses import Response

from domain.intake.table import Cells
from domain.shop.jobs import Job
from webapp.actions import books as books_actions
from webapp.actions import calendar, intake
from webapp.actions.planning import Desk, load_desk
from webapp.exchange.calendar import MEDIA_TYPE
from webapp.routes import copies, supplies
from webapp.routes.api.common import noun
from webapp.routes.downloads import table_file
from webapp.routes.edge import Db, TheSettings
from webapp.store import books, nouns
from webapp.store.engine import Session
from webapp.views import metal, week
from webapp.views.supplies import supply_records
from webapp.views.tables import flask_records, job_records

router = noun("/files", "Files")
archive = noun("/archive.zip", "Files")
Table: TypeAlias = Literal["jobs", "flasks", "metal-order", "consumables", "books"]
Form: TypeAlias = Literal["csv", "xlsx"]
BINARY: dict[int | str, dict[str, Any]] = {200: {"description": "The file", "content": {"application/octet-stream": {}}}}


@router.get(
    "/week.ics", response_class=Response, responses={200: {"content": {"text/calendar": {}}}}, summary="The week as a calendar"
)
def as_calendar(db: Db, settings: TheSettings) -> Response:
    with db.read() as session:
        return Response(calendar.week_calendar(session, settings), media_type=MEDIA_TYPE, headers={"Cache-Control": "no-store"})


@router.get(
    "/{table}.{form}", response_class=Response, responses={200: {"content": {"text/csv": {}}}}, summary="A list as CSV or XLSX"
)
def table_as(db: Db, settings: TheSettings, table: Table, form: Form) -> Response:
    with db.read() as session:
        desk = load_desk(session, settings)
        return table_file(_records(session, desk, table), table, form)


@archive.get("", response_class=Response, responses=BINARY, summary="The complete shop as one file")
def everything(db: Db, settings: TheSettings) -> Response:
    return copies.download_now(db, settings)


def _records(session: Session, desk: Desk, table: Table) -> Iterable[Cells]:
    currency = desk.problem.rules.currency
    if table == "jobs":
        jobs = sorted(nouns.all_of(session, Job), key=lambda job: (job.due, job.id))
        return job_records(jobs, intake.names(session))
    if table == "flasks":
        return flask_records(week.flask_days(desk.problem, desk.open_plan, desk.pins, desk.stages))
    if table == "metal-order":
        return metal.order_records(metal.order_lines(desk.problem, desk.open_plan, desk.now.date()), currency)
    if table == "consumables":
        return supply_records(supplies.lines_of(session, desk), currency)
    return books_actions.entry_records(reversed(books.entries(session, newest=None)))
