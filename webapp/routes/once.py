"""A change that is sent twice happens once.

The routes of a router with ``route_class=Once`` that change something do it in one transaction, in which
their answer is kept under the key that the form carries (field ``key``, header ``Castweek-Key`` or ``Idempotency-Key``). The same
key with the same content is answered as the first time; nothing is changed again. Network lost, answer lost,
button pressed twice, server killed: whoever does not know what became of a change sends it again.

``static/outbox.js`` sends forms marked ``data-outbox`` so, and asks with the header ``Castweek-Outbox`` for a
short answer instead of the next page. An entry that it kept while there was no network says in
``Castweek-Age`` how many milliseconds ago it was made, so that a tablet's wrong clock does not matter, and in
``Castweek-Who`` which account made it.
"""

from __future__ import annotations

import functools
import hashlib
import json
from collections.abc import Callable
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from fastapi import Depends, HTTPException, Request
from fastapi.responses import JSONResponse, Response
from fastapi.routing import APIRoute

from domain.errors import DomainError
from domain.saying import say
from webapp import formats
from webapp.auth.roles import Who
from webapp.errors import SIGN_IN
from webapp.pages import SeeOther, see_other
from webapp.problems import is_software
from webapp.security import SAFE_METHODS
from webapp.steady import ago, utc_now
from webapp.store import answers
from webapp.store.answers import KeptAnswer
from webapp.store.engine import Database, Session
from webapp.store.week import load_rules

LONGEST_KEY = 200
OLDEST = timedelta(days=7)
"""An entry that says it is older counts as so old."""
USED = say(
    "Nothing was changed: this form was sent before with something else in it, and that was saved. "
    "Open the page again to see what is there, then change that."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sent:
    """A change as it came in. ``outbox``: a script sent it, which shows the answer itself. ``software``: it asks the JSON
    interface."""

    db: Database
    key: str
    path: str
    who: str
    digest: str
    age: timedelta
    received: datetime
    outbox: bool
    software: bool


_SENT: ContextVar[Sent | None] = ContextVar("sent", default=None)


class Once(APIRoute):
    """A route that runs once for each key."""

    def __init__(self, path: str, endpoint: Callable[..., Any], **options: Any) -> None:
        changes = not SAFE_METHODS.issuperset(options.get("methods") or ())
        if changes and not hasattr(endpoint, "once"):
            endpoint = _once(endpoint)
            options["dependencies"] = [*(options.get("dependencies") or ()), Depends(_sent)]
        super().__init__(path, endpoint, **options)


async def _sent(request: Request) -> None:
    """Hears what was sent before the route runs; the door has looked at who sent it."""
    form = await request.form()
    fields = [(name, value) for name, value in form.multi_items() if isinstance(value, str)]
    named = request.headers.get("castweek-key") or request.headers.get("idempotency-key")
    key = named or dict(fields).get("key", "")
    if len(key) > LONGEST_KEY:
        raise DomainError(say("Nothing was changed: the form's key is too long. Open the page again."))
    who = _who(request)
    software = is_software(request)
    body = [(request.method, (await request.body()).decode(errors="replace"))] if software else []
    content = json.dumps(sorted([*body, *(field for field in fields if field[0] != "key")]))
    sent = Sent(
        db=request.app.state.db,
        key=key,
        path=request.url.path,
        who=who,
        digest=hashlib.sha256(content.encode()).hexdigest(),
        age=_age(request.headers.get("castweek-age", "")),
        received=utc_now(),
        outbox="castweek-outbox" in request.headers,
        software=software,
    )
    _SENT.set(sent)


def _who(request: Request) -> str:
    """The account, which must be the one that made the entry where it was kept on a tablet."""
    asks: Who | None = getattr(request.state, "who", None)
    who = str(asks.access or asks.account or "") if asks else ""
    made_by = request.headers.get("castweek-who")
    if made_by is not None and made_by != who:
        words = say("Nothing was changed: somebody else made this entry. Whoever made it signs in to send it.")
        raise HTTPException(403, words, {SIGN_IN: "needed"})
    return who


def _age(text: str) -> timedelta:
    if not (text.isascii() and text.isdecimal() and len(text) < 16):
        return timedelta(0)
    return min(timedelta(milliseconds=int(text)), OLDEST)


def _once(work: Callable[..., Response]) -> Callable[..., Response]:
    @functools.wraps(work)
    def once(*args: Any, **kwargs: Any) -> Response:
        sent = _SENT.get()
        if sent is None or not sent.key:
            return work(*args, **kwargs)
        return _answered(sent, lambda: work(*args, **kwargs))

    once.once = True  # type: ignore[attr-defined]
    return once


def _answered(sent: Sent, work: Callable[[], Response]) -> Response:
    """A refusal changes nothing and is not kept: corrected, the same form may be sent again."""
    # inside: what waits for the writer before it did not happen later for that
    with sent.db.whole() as session, ago(sent.age + (utc_now() - sent.received)):
        before = answers.find(session, sent.key)
        if before is None:
            response = work()
            if response.status_code >= 400:
                session.rollback()
                return response
            before = _keep(session, sent, response)
        elif (before.path, before.who, before.digest) != (sent.path, sent.who, sent.digest):
            raise HTTPException(409, USED)
        saved = formats.clock(formats.local(before.at, load_rules(session).timezone))
    return _told(sent, before, saved)


def _keep(session: Session, sent: Sent, response: Response) -> KeptAnswer:
    location = response.headers.get("location", "")
    kept = KeptAnswer(
        key=sent.key,
        path=sent.path,
        who=sent.who,
        digest=sent.digest,
        status=response.status_code,
        location=location,
        said=response.said if isinstance(response, SeeOther) else "",
        body="" if location else bytes(response.body).decode(),
        at=utc_now(),
    )
    answers.keep(session, kept)
    return kept


def _told(sent: Sent, kept: KeptAnswer, saved: str) -> Response:
    if sent.outbox:
        return JSONResponse({"saved": saved, "said": kept.said, "onward": kept.location}, headers={"Cache-Control": "no-store"})
    if kept.location:
        return see_other(kept.location, kept.said)
    kind = "application/json" if sent.software else "text/html"
    return Response(kept.body, kept.status, media_type=kind, headers={"Cache-Control": "no-store"})
