"""Structured logging to standard error: one JSON object a line. No form content is logged."""

from __future__ import annotations

import json
import logging
import re
import sys
import time
import uuid
from collections.abc import Callable
from datetime import UTC, datetime

from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

log = logging.getLogger("castweek")

OURS = ("castweek", "webapp", "domain")
SERVERS = "uvicorn"
"""The web server's own; what it says below a warning, the lines of our own say already."""


_KEY_IN_PATH = re.compile(r"^(/calendar/)[^/]{20,}")
"""The address of a calendar feed is the key to it."""


class JsonLines(logging.Formatter):
    def format(self, record: logging.LogRecord) -> str:
        entry: dict[str, object] = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname,
            "logger": record.name,
            "message": record.getMessage(),
            **getattr(record, "facts", {}),
        }
        if record.exc_info:
            entry["trace"] = self.formatException(record.exc_info)
        return json.dumps(entry, ensure_ascii=False)


def set_up(level: str) -> None:
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(JsonLines())
    for name in (*OURS, SERVERS):
        logger = logging.getLogger(name)
        logger.handlers, logger.propagate = [handler], False
        logger.setLevel(level)
    servers = logging.getLogger(SERVERS)
    servers.setLevel(max(servers.level, logging.WARNING))


class RequestLog:
    """Logs every request, and turns an error nobody expected into a page that names its log entry."""

    def __init__(self, app: ASGIApp, error_page: Callable[[Request, str], Response]) -> None:
        self.app = app
        self.error_page = error_page

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        await self._logged(scope, receive, send)

    async def _logged(self, scope: Scope, receive: Receive, send: Send) -> None:
        request_id = uuid.uuid4().hex[:12]
        started, status = time.perf_counter(), 0

        async def watch(message: Message) -> None:
            nonlocal status
            if message["type"] == "http.response.start":
                status = message["status"]
            await send(message)

        try:
            await self.app(scope, receive, watch)
        except Exception:
            log.exception("request failed", extra={"facts": {"request": request_id, "path": _shown(scope["path"])}})
            if status:
                raise
            await self.error_page(Request(scope), request_id)(scope, receive, watch)
        took = round((time.perf_counter() - started) * 1000, 1)
        facts = {"request": request_id, "method": scope["method"], "path": _shown(scope["path"]), "status": status, "ms": took}
        log.info("request", extra={"facts": facts})


def _shown(path: str) -> str:
    """A path without a key that stands in it."""
    return _KEY_IN_PATH.sub(r"\1…", path)
