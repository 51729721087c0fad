"""What every route needs from the request: the database, the settings, the fields as typed."""

from __future__ import annotations

from typing import Annotated

from fastapi import Depends, Request

from webapp.auth.certificate import own_addresses
from webapp.settings import LOOPBACK, Settings
from webapp.store.engine import Database
from webapp.ways import FORM_FIELD, follow, understood


def _database(request: Request) -> Database:
    db: Database = request.app.state.db
    return db


def _settings(request: Request) -> Settings:
    settings: Settings = request.app.state.settings
    return settings


async def _typed(request: Request) -> dict[str, str]:
    form = await request.form()
    return in_its_ways({name: value for name, value in form.multi_items() if isinstance(value, str)})


def in_its_ways(typed: dict[str, str]) -> dict[str, str]:
    """The fields, which are read, and shown again, in the units beside which they were typed, whatever their reader has
    chosen meanwhile."""
    ways = understood(typed.pop(FORM_FIELD, ""))
    if ways is not None:
        follow(ways)
    return typed


def address_for_tablets(request: Request) -> str:
    """Where a tablet reaches the server that this request reached: the same, unless it came from the server's
    own machine while others may reach it too."""
    settings, url = _settings(request), request.url
    if url.hostname not in LOOPBACK or settings.host in LOOPBACK:
        return f"{url.scheme}://{url.netloc}"
    outside = next((one for one in own_addresses() if one not in LOOPBACK), url.hostname)
    return f"{url.scheme}://{outside}:{settings.port}"


Db = Annotated[Database, Depends(_database)]
TheSettings = Annotated[Settings, Depends(_settings)]
Typed = Annotated[dict[str, str], Depends(_typed)]
"""The text fields of a form, exactly as typed."""


def version_in(typed: dict[str, str]) -> int:
    """The version that a form was opened with; 0, which no row has, where none is sent."""
    text = typed.get("version", "")
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else 0
