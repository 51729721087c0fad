"""Telling open pages that the data have changed, by server-sent events."""

from __future__ import annotations

import asyncio
import secrets
import time
from collections.abc import AsyncIterator

from fastapi import APIRouter, HTTPException, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import StreamingResponse

from domain.saying import say
from webapp.settings import Settings
from webapp.steady import utc_now
from webapp.store.engine import Database
from webapp.store.trouble import Unavailable

router = APIRouter()

MOST = 60
"""Open streams; a studio has a handful of screens. Whoever comes later asks every half a minute instead."""
LASTS = 300
"""Seconds, after which a page opens its stream again and passes the door once more."""
BEAT = 10
"""Seconds between two messages where nothing has changed, so that a page notices a lost connection."""


class Pulse:
    """Looks at the data's stamp at most once a second, however many listen, and holds no session meanwhile."""

    def __init__(self, db: Database, settings: Settings, lasts: int = LASTS) -> None:
        self.db, self.settings, self.lasts = db, settings, lasts
        self.listening = 0
        self._born = secrets.token_hex(3)
        self._known, self._looked = "", 0.0
        self._one_at_a_time = asyncio.Lock()

    def stamp(self) -> str:
        """Another one whenever the data have changed or the server has been started anew."""
        return f"{self._born}-{self.db.stamp()}".replace(" ", "")

    def now(self) -> int:
        """Milliseconds since 1970 on the shop's clock."""
        moment = self.settings.fixed_now and self.settings.moment("UTC")
        return int((moment or utc_now()).timestamp() * 1000)

    async def _look(self) -> str:
        async with self._one_at_a_time:
            if time.monotonic() - self._looked > 0.9:
                self._known = await run_in_threadpool(self.stamp)
                self._looked = time.monotonic()
            return self._known

    async def messages(self) -> AsyncIterator[str]:
        self.listening += 1
        try:
            yield "retry: 3000\n\n"
            known = ""
            for second in range(self.lasts):
                stamp = await self._look()
                if stamp != known or second % BEAT == 0:
                    yield f"event: stamp\ndata: {stamp} {self.now()}\n\n"
                known = stamp
                await asyncio.sleep(1)
        except Unavailable:
            return  # the page asks again
        finally:
            self.listening -= 1


@router.get("/today/events")
async def events(request: Request) -> StreamingResponse:
    pulse: Pulse = request.app.state.pulse
    if pulse.listening >= MOST:
        raise HTTPException(503, say("Too many pages are listening; this one asks now and then instead."))
    return StreamingResponse(pulse.messages(), media_type="text/event-stream", headers={"Cache-Control": "no-store"})
