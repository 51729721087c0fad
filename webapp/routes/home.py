"""The front door."""

from __future__ import annotations

from fastapi import APIRouter
from fastapi.responses import PlainTextResponse, RedirectResponse

router = APIRouter()


@router.get("/")
def home() -> RedirectResponse:
    return RedirectResponse("/week", 303)


@router.get("/alive")
def alive() -> PlainTextResponse:
    """For whoever watches the server."""
    return PlainTextResponse("alive")
