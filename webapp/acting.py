"""Who is acting and in which units: set once for a request, read where something is written down or shown."""

from __future__ import annotations

from contextvars import ContextVar

from fastapi import Request

from domain.saying import into
from webapp.auth.roles import Who
from webapp.languages.catalogue import translator
from webapp.ways import METRIC, Ways, follow

_ACTOR: ContextVar[str] = ContextVar("actor", default="")


async def acts(request: Request) -> None:
    """A dependency behind the door, which has found out who asks. It is a coroutine so that the routes, which run in
    threads, see what it sets."""
    who: Who | None = getattr(request.state, "who", None)
    _ACTOR.set(who.name if who is not None and (who.account or who.access) else "")
    ways: Ways = getattr(request.state, "ways", METRIC)
    follow(ways)
    into(translator(ways.language))


def actor() -> str:
    """The name of whoever is signed in; empty where nobody is."""
    return _ACTOR.get()
