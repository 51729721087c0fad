"""Every route × every role × nobody: the doors are what ``doors.txt`` says, and they hold."""

from __future__ import annotations

import re
from collections.abc import AsyncIterator, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import httpx
import pytest
from fastapi import FastAPI

from webapp.actions.accounts import now
from webapp.app import ROUTERS, create_app
from webapp.auth.keys import new_token
from webapp.auth.roles import Role
from webapp.routes.doors import SESSION_COOKIE, Door
from webapp.security import SOFTWARE
from webapp.settings import MAX_BODY_BYTES, Settings
from webapp.store import accounts as store

ORIGIN = "http://localhost:8765"
MATRIX = Path(__file__).with_name("doors.txt")


def routes_of(router: Any, prefix: str = "") -> Iterator[tuple[str, str]]:
    for route in router.routes:
        if hasattr(route, "original_router"):
            yield from routes_of(route.original_router, prefix + route.include_context.prefix)
        else:
            yield from ((method, prefix + route.path) for method in sorted(route.methods - {"HEAD"}))


def found() -> dict[str, tuple[str, ...]]:
    """Each route with the roles that its door lets through."""
    doors = {}
    for router, door in ROUTERS:
        for method, path in routes_of(router):
            anyone = ("anyone",) if door.open else ()
            doors[f"{method} {path}"] = anyone or tuple(role.value for role in Role if door.lets(role, method))
    return doors


def listed() -> dict[str, tuple[str, ...]]:
    lines = [line for line in MATRIX.read_text(encoding="utf-8").splitlines() if line and not line.startswith("#")]
    return {" ".join(line.split()[:2]): tuple(line.split()[2:]) for line in lines}


FOUND = found()


def test_every_route_is_in_the_matrix_and_has_the_door_that_it_says() -> None:
    wanted = listed()
    lines = [f"{route} {' '.join(roles)}" for route, roles in FOUND.items() if wanted.get(route) != roles]
    assert not lines, f"Is that who may use them? Then add to or change in {MATRIX.name}:\n" + "\n".join(lines)
    gone = sorted(wanted.keys() - FOUND.keys())
    assert not gone, f"No such routes any more; take them out of {MATRIX.name}:\n" + "\n".join(gone)


def test_nothing_is_served_beside_routers_with_doors_but_static_files(app: FastAPI) -> None:
    routers = [route for route in app.routes if hasattr(route, "original_router")]
    assert [route.original_router for route in routers] == [router for router, _ in ROUTERS]
    for route, (_, door) in zip(routers, ROUTERS, strict=True):
        assert [dependency.dependency for dependency in route.include_context.dependencies][:1] == [door]
        assert isinstance(door, Door)
    assert [route.path for route in app.routes if not hasattr(route, "original_router")] == ["/static"]


@pytest.fixture
def settings(settings: Settings) -> Settings:
    return replace(settings, sign_in=True)


@pytest.fixture
def app(settings: Settings) -> Iterator[FastAPI]:
    app = create_app(settings)
    yield app
    app.state.db.close()


def signed_in(app: FastAPI, role: Role) -> str:
    """The token of somebody of this role."""
    token = new_token()
    with app.state.db.write() as session:
        account = store.add_account(session, f"A {role}", role, person=None, password=None, pin=None)
        store.sign_in(session, token, account, None, now() + 1000)
    return token


@pytest.fixture
async def stranger(app: FastAPI) -> AsyncIterator[httpx.AsyncClient]:
    transport = httpx.ASGITransport(app=app)
    async with httpx.AsyncClient(transport=transport, base_url=ORIGIN, headers={"Origin": ORIGIN}) as client:
        yield client


def address(path: str) -> str:
    return re.sub(r"{\w+(:\w+)?}", "1", path)


async def test_nobody_gets_in_without_signing_in(stranger: httpx.AsyncClient) -> None:
    for route, roles in FOUND.items():
        method, path = route.split()
        if roles == ("anyone",):
            continue
        answer = await stranger.request(method, address(path))
        if path.startswith(SOFTWARE):
            assert answer.status_code == 401, route
        elif method == "GET":
            assert answer.status_code == 303, route
            assert answer.headers["location"].startswith("/sign-in?onward="), route
        else:
            assert answer.status_code == 403, route


@pytest.mark.parametrize("role", Role)
async def test_a_role_is_refused_what_is_not_its_own(app: FastAPI, stranger: httpx.AsyncClient, role: Role) -> None:
    stranger.cookies.set(SESSION_COOKIE, signed_in(app, role))
    for route, roles in FOUND.items():
        method, path = route.split()
        if roles != ("anyone",) and role not in roles:
            answer = await stranger.request(method, address(path))
            # with a token instead: tests/webapp/test_api.py
            assert answer.status_code == (401 if path.startswith(SOFTWARE) else 403), route
            assert path.startswith(SOFTWARE) or "Nothing was changed" in answer.text


async def test_a_role_gets_its_own_pages(app: FastAPI, stranger: httpx.AsyncClient) -> None:
    stranger.cookies.set(SESSION_COOKIE, signed_in(app, Role.CASTER))
    for path in ("/today", "/week", "/bench", "/jobs", "/metal", "/board", "/who"):
        assert (await stranger.get(path)).status_code == 200, path
    assert (await stranger.get("/static/castweek.css")).status_code == 200


@pytest.mark.parametrize("path", ["/week/", "//week", "/static/../week", "/static/%2e%2e/week", "/WEEK", "/week;x=1", "/week%00"])
async def test_no_spelling_of_a_path_goes_around_a_door(stranger: httpx.AsyncClient, path: str) -> None:
    answer = await stranger.get(path)
    assert answer.status_code in {303, 307, 400, 404}
    assert "Plan the week" not in answer.text


async def test_a_host_header_opens_no_door(stranger: httpx.AsyncClient) -> None:
    for host in ("localhost/static/", "localhost:8765/sign-in?", "127.0.0.1#", "localhost\\@x"):
        answer = await stranger.get("/people", headers={"Host": host})
        assert answer.status_code in {303, 400}, host
    assert (await stranger.get("/people", headers={"Host": "evil.example"})).status_code == 400


async def test_a_stale_or_foreign_session_changes_nothing(app: FastAPI, stranger: httpx.AsyncClient) -> None:
    token = signed_in(app, Role.OWNER)
    for stale in ("", "x", token[:-1]):
        stranger.cookies.set(SESSION_COOKIE, stale)
        assert (await stranger.post("/people", data={"name": "Mallory", "role": "owner"})).status_code == 403
        stranger.cookies.clear()
    stranger.cookies.set(SESSION_COOKIE, token)
    crossed = await stranger.post(
        "/people", data={"name": "Mallory", "role": "owner"}, headers={"Origin": "http://elsewhere.example"}
    )
    assert crossed.status_code == 403
    with app.state.db.read() as session:
        assert [row.name for row in store.accounts(session)] == ["A owner"]


async def test_a_huge_upload_is_refused_before_much_of_it_is_read(app: FastAPI, stranger: httpx.AsyncClient) -> None:
    """Two hundred megabytes by an owner without a length given: at most six are taken."""
    stranger.cookies.set(SESSION_COOKIE, signed_in(app, Role.OWNER))
    taken = 0

    async def body() -> AsyncIterator[bytes]:
        nonlocal taken
        yield b'--x\r\nContent-Disposition: form-data; name="file"; filename="big.json"\r\n\r\n'
        for _ in range(3200):
            taken += 65_536
            yield b"x" * 65_536

    headers = {"Content-Type": "multipart/form-data; boundary=x"}
    for path in ("/exchange/week", "/intake/list", "/people", "/sign-in"):
        taken = 0
        answer = await stranger.post(path, content=body(), headers=headers)
        assert answer.status_code in {404, 405, 413, 422}, path
        assert taken <= MAX_BODY_BYTES + 131_072, path
