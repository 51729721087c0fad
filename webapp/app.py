"""The application: settings in, a FastAPI app out.

Conventions of the web layer
- A route is a plain ``def`` of about 15 lines. It gets ``db: Db`` and reads with
  ``with db.read() as session`` or changes with ``with db.write() as session``; the change is on disk
  when the block ends, before the answer is sent. A GET never writes: a reading session refuses to.
- After a change: ``see_other("/jobs", "Saved")``. Bad input: the same page with status 422, the message
  beside the field and everything typed kept.
- Each page is a frozen dataclass (see ``pages``); templates extend ``_base.html`` and fill ``main``.
  No inline script, no inline style, no ``style=`` attribute: the content security policy refuses them.
  SVG uses presentation attributes and classes.
- Numbers are written by filters (``{{ charge|mass }}``), which know the reader's units.
- A route module is listed once, in ``ROUTERS``, with the door that says who may look and who may change.
"""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from datetime import datetime
from functools import cache

from fastapi import APIRouter, Depends, FastAPI
from fastapi.middleware.gzip import GZipMiddleware
from fastapi.staticfiles import StaticFiles
from starlette.routing import BaseRoute

from webapp import log
from webapp.acting import acts
from webapp.actions.accounts import first_code
from webapp.actions.start import open_shop
from webapp.again import Again
from webapp.errors import add_error_pages, unexpected
from webapp.keeper import Keeper
from webapp.pages import resource_folder
from webapp.routes import (
    access,
    bench,
    board,
    books,
    calendar,
    checks,
    copies,
    everything,
    exchange,
    flask,
    floor,
    help,
    home,
    intake,
    jobs,
    learning,
    live,
    melts,
    metal,
    models,
    moves,
    numbers,
    papers,
    people,
    pieces,
    prints,
    setup,
    shop,
    today,
    wall,
    ways,
    week,
    what_if,
)
from webapp.routes.api import description
from webapp.routes.api.table import API
from webapp.routes.doors import BOARD_DOOR, DESK_DOOR, FLOOR_DOOR, OPEN_DOOR, OWN_DOOR, OWNER_DOOR, READ_DOOR
from webapp.security import Guard
from webapp.settings import MAX_BODY_BYTES, Settings, local_timezone
from webapp.solving.runner import Runner
from webapp.solving.trials import Trials
from webapp.store.answers import prune
from webapp.store.copies import FOLDER
from webapp.store.engine import Database
from webapp.store.upgrading import bring_up_to_date

ROUTERS = (
    (home.router, OPEN_DOOR),
    (week.router, READ_DOOR),
    (calendar.file, READ_DOOR),
    (calendar.router, DESK_DOOR),
    (calendar.feed, OPEN_DOOR),
    (what_if.router, DESK_DOOR),
    (flask.router, FLOOR_DOOR),
    (flask.pinning, READ_DOOR),
    (moves.router, READ_DOOR),
    (floor.router, FLOOR_DOOR),
    (checks.router, FLOOR_DOOR),
    (checks.signing, FLOOR_DOOR),
    (checks.passing, READ_DOOR),
    (pieces.router, FLOOR_DOOR),
    (today.router, FLOOR_DOOR),
    (live.router, BOARD_DOOR),
    (numbers.router, READ_DOOR),
    (melts.router, FLOOR_DOOR),
    (books.router, READ_DOOR),
    (metal.router, READ_DOOR),
    (bench.router, FLOOR_DOOR),
    (exchange.router, DESK_DOOR),
    (copies.router, OWNER_DOOR),
    (prints.router, READ_DOOR),
    (papers.router, READ_DOOR),
    (everything.router, READ_DOOR),
    (wall.router, READ_DOOR),
    (jobs.router, READ_DOOR),
    (models.router, READ_DOOR),
    (learning.router, READ_DOOR),
    (shop.router, READ_DOOR),
    (ways.shop, READ_DOOR),
    (setup.router, READ_DOOR),
    (intake.router, DESK_DOOR),
    (people.entrance, OPEN_DOOR),
    (people.own, OWN_DOOR),
    (ways.own, OWN_DOOR),
    (access.router, DESK_DOOR),
    (people.router, DESK_DOOR),
    (board.router, BOARD_DOOR),
    (help.router, BOARD_DOOR),
    (description.pages, BOARD_DOOR),
    (description.document, OPEN_DOOR),
    *API,
)


@cache
def _routes() -> tuple[BaseRoute, ...]:
    """Every router behind its door: put together once, because it takes longer than all else at the start and
    holds nothing of one app."""
    table = APIRouter()
    for router, door in ROUTERS:
        table.include_router(router, dependencies=[Depends(door), Depends(acts)])
    return tuple(table.routes)


@asynccontextmanager
async def _until_stopped(app: FastAPI) -> AsyncIterator[None]:
    app.state.keeper.start()
    yield
    app.state.keeper.stop()
    app.state.runner.shutdown()


def create_app(settings: Settings) -> FastAPI:
    """An app on a database that is brought up to date first."""
    log.set_up(settings.log_level)
    app = FastAPI(
        title="Castweek", openapi_url=None, docs_url=None, redoc_url=None, max_body_size=MAX_BODY_BYTES, lifespan=_until_stopped
    )
    app.state.settings = settings
    app.state.db = Database(settings.database_url)
    before = bring_up_to_date(app.state.db, settings.folder / FOLDER, datetime.now())
    if before is not None:
        log.log.info("the database was brought up to date", extra={"facts": {"copy": str(before)}})
    prune(app.state.db)
    app.state.keeper = Keeper(app.state.db, settings)
    app.state.runner = Runner()
    app.state.trials = Trials()
    app.state.pulse = live.Pulse(app.state.db, settings)
    open_shop(app.state.db, local_timezone())
    app.state.first_code = first_code(app.state.db) if settings.asks else ""
    app.router.routes.extend(_routes())
    # nothing on a page is secret from who can make it say something, so compressing gives nothing away
    app.add_middleware(GZipMiddleware, minimum_size=1000)
    app.mount("/static", StaticFiles(directory=resource_folder("static")), name="static")
    add_error_pages(app)
    app.add_middleware(Again)
    app.add_middleware(log.RequestLog, error_page=unexpected)
    app.add_middleware(Guard, allowed_hosts=settings.allowed_hosts | {settings.host.lower()})
    return app
