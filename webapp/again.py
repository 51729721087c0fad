"""A request is run once more where the database gave its transaction up because of another one.

It is the edge at which nothing has been answered yet: a route commits before it answers, so running it
again from its beginning leaves no trace of the first time. A route that writes in two steps must bear that
the first is repeated; keys made by the client see to it.
"""

from __future__ import annotations

import asyncio

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from webapp.log import log
from webapp.store.trouble import TRIES, pause_before, was_in_conflict


class Again:
    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        heard: list[Message] = []
        for attempt in range(1, TRIES):
            try:
                await self.app(dict(scope), _from_the_beginning(heard, receive), send)
                return
            except Exception as error:
                if not was_in_conflict(error):
                    raise
                log.warning("transaction in conflict, run again", extra={"facts": {"path": scope["path"], "attempt": attempt}})
            await asyncio.sleep(pause_before(attempt))
        await self.app(scope, _from_the_beginning(heard, receive), send)


def _from_the_beginning(heard: list[Message], receive: Receive) -> Receive:
    """Says again what was heard of the request, then listens on."""
    told = 0

    async def listen() -> Message:
        nonlocal told
        if told == len(heard):
            heard.append(await receive())
        told += 1
        return heard[told - 1]

    return listen
