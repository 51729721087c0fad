"""A request whose body is read only so far, whatever its headers say."""

from __future__ import annotations

from fastapi import Request
from starlette.formparsers import MultiPartException
from starlette.types import Message


def capped(request: Request, most: int, told: str) -> Request:
    """The request again. More than ``most`` bytes raise ``MultiPartException``, which tells ``told``."""
    seen = 0

    async def counted() -> Message:
        nonlocal seen
        message = await request.receive()
        seen += len(message.get("body", b""))
        if seen > most:
            raise MultiPartException(told)
        return message

    return Request(request.scope, counted)
