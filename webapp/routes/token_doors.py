"""Doors of the JSON interface: a token and nothing else. No cookie opens them, so no other site's page can."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import HTTPException, Request

from webapp.actions.access import asks
from webapp.auth.roles import Role
from webapp.errors import NotSignedIn
from webapp.routes.doors import DESK, FLOOR, Door
from webapp.security import SAFE_METHODS


@dataclass(frozen=True)
class TokenDoor(Door):
    """The same question to whoever sends a token."""

    def __call__(self, request: Request) -> None:
        who = asks(request.app.state.db, _token(request))
        request.state.who = who
        if who is None:
            raise NotSignedIn
        if not self.lets(who.role, request.method):
            what = "look at this" if request.method in SAFE_METHODS else "change this"
            raise HTTPException(403, f"Nothing was changed: {who.name} has the role {who.role}, which may not {what}.")


def _token(request: Request) -> str:
    kind, _, token = request.headers.get("authorization", "").partition(" ")
    return token.strip() if kind.casefold() == "bearer" else ""


READ_TOKEN = TokenDoor(look=frozenset(FLOOR), change=frozenset(DESK))
"""Casters look, the desk writes."""
FLOOR_TOKEN = TokenDoor(look=frozenset(FLOOR), change=frozenset(FLOOR))
DESK_TOKEN = TokenDoor(look=frozenset(DESK), change=frozenset(DESK))
OWNER_TOKEN = TokenDoor(look=frozenset({Role.OWNER}), change=frozenset({Role.OWNER}))
ANY_TOKEN = TokenDoor(look=frozenset(Role))
