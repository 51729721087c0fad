"""Other software in tests: an app on a database, and a client with a token of each role."""

from __future__ import annotations

from collections.abc import Mapping

import httpx
from fastapi import FastAPI

from webapp.actions.access import MARK
from webapp.auth.keys import new_token
from webapp.auth.roles import Role
from webapp.store import access
from webapp.store.engine import Database

SERVER = "http://localhost:8765"


def token_of(db: Database, role: Role, name: str = "", maker: int | None = None) -> str:
    token = MARK + new_token()
    with db.write() as session:
        access.add_access(session, name or f"Sheet of a {role}", role, token, maker)
    return token


def software(app: FastAPI, token: str, headers: Mapping[str, str] | None = None) -> httpx.AsyncClient:
    """Nothing of a browser: no cookie, no origin."""
    transport = httpx.ASGITransport(app=app, raise_app_exceptions=False)
    return httpx.AsyncClient(
        transport=transport, base_url=f"{SERVER}/api/v1", headers={"Authorization": f"Bearer {token}", **(headers or {})}
    )
