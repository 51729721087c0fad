"""The first owner, signing in, switching by PIN, ending accounts and tablets, the board."""

from __future__ import annotations

from collections.abc import AsyncIterator, Iterator
from dataclasses import replace
from pathlib import Path

import httpx
import pytest
from cryptography import x509
from fastapi import FastAPI

from domain.shop.lots import Metal
from webapp import cli
from webapp.app import create_app
from webapp.auth.certificate import fingerprint, made_certificate
from webapp.auth.keys import is_secret, kept_secret
from webapp.routes.doors import DEVICE_COOKIE, SESSION_COOKIE
from webapp.settings import Settings
from webapp.store import accounts as store
from webapp.store import books, nouns

ORIGIN = "http://localhost:8765"
PASSWORD = "molten and bright"


@pytest.fixture
def settings(settings: Settings) -> Settings:
    return replace(settings, sign_in=True)


@pytest.fixture
def app(settings: Settings) -> Iterator[FastAPI]:
    app = create_app(settings)
    yield app
    app.state.db.close()


def browser(app: FastAPI) -> httpx.AsyncClient:
    transport = httpx.ASGITransport(app=app, raise_app_exceptions=False)
    return httpx.AsyncClient(transport=transport, base_url=ORIGIN, headers={"Origin": ORIGIN})


@pytest.fixture
async def owner(app: FastAPI) -> AsyncIterator[httpx.AsyncClient]:
    """A browser in which the first owner is signed in."""
    async with browser(app) as client:
        typed = {"code": app.state.first_code, "name": "Ida", "password": PASSWORD}
        assert (await client.post("/first-owner", data=typed)).status_code == 303
        yield client


async def make(owner: httpx.AsyncClient, name: str, role: str, **secrets: str) -> int:
    answer = await owner.post("/people", data={"name": name, "role": role, **secrets})
    assert answer.status_code == 303, answer.text
    db = owner._transport.app.state.db  # type: ignore[attr-defined]
    with db.read() as session:
        row = store.account_named(session, name)
        assert row is not None
        assert row.id is not None
        return row.id


async def enter(client: httpx.AsyncClient, name: str, password: str = PASSWORD, **more: str) -> httpx.Response:
    return await client.post("/sign-in", data={"name": name, "password": password, **more})


async def test_the_first_owner_needs_the_code_and_it_works_once(app: FastAPI) -> None:
    async with browser(app) as client:
        code = app.state.first_code
        assert "printed a code" in (await client.get("/sign-in")).text
        typed = {"code": "0000000000", "name": "Ida", "password": PASSWORD}
        assert (await client.post("/first-owner", data=typed)).status_code == 422
        made = await client.post("/first-owner", data={**typed, "code": code})
        assert made.headers["location"] == "/people"
        assert (await client.get("/people")).status_code == 200
        assert (await client.post("/first-owner", data={**typed, "code": code, "name": "Eve"})).status_code == 422


async def test_a_short_password_is_told_beside_its_field(app: FastAPI) -> None:
    async with browser(app) as client:
        page = await client.post("/first-owner", data={"code": app.state.first_code, "name": "Ida", "password": "short"})
        assert "10 to 200 characters" in page.text
        assert 'value="Ida"' in page.text
        assert "short" not in page.text.replace("a short", "")


async def test_signing_in_leads_on_to_the_page_that_was_asked_for_and_nowhere_else(app: FastAPI, owner: httpx.AsyncClient) -> None:
    assert (await owner.get("/who")).status_code == 200
    async with browser(app) as client:
        asked = await client.get("/jobs?state=cast")
        assert asked.headers["location"] == "/sign-in?onward=%2Fjobs%3Fstate%3Dcast"
        assert (await enter(client, "ida", onward="/jobs?state=cast")).headers["location"] == "/jobs?state=cast"
        for elsewhere in ("https://evil.example", "//evil.example", "/\\evil.example", "javascript:x"):
            assert (await enter(client, "Ida", onward=elsewhere)).headers["location"] == "/"
        cookie = (await enter(client, "Ida")).headers["set-cookie"]
        assert "HttpOnly" in cookie
        assert "samesite=lax" in cookie.lower()


async def test_signing_out_ends_the_session_on_the_server(app: FastAPI, owner: httpx.AsyncClient) -> None:
    token = owner.cookies[SESSION_COOKIE]
    assert (await owner.post("/who/sign-out")).status_code == 303
    async with browser(app) as client:
        client.cookies.set(SESSION_COOKIE, token)
        assert (await client.get("/week")).status_code == 303


async def test_ending_an_account_ends_its_sessions_at_once(app: FastAPI, owner: httpx.AsyncClient) -> None:
    id = await make(owner, "Mo", "manager", password=PASSWORD)
    async with browser(app) as client:
        await enter(client, "Mo")
        assert (await client.get("/week")).status_code == 200
        assert (await owner.post(f"/people/{id}/end")).status_code == 303
        assert (await client.get("/week")).status_code == 303
        assert (await client.post("/jobs")).status_code == 403
        assert (await enter(client, "Mo")).status_code == 422
    await make(owner, "Mo", "caster", password=PASSWORD)  # the name is free again


async def test_a_manager_neither_makes_nor_ends_an_owner_and_the_last_owner_stays(app: FastAPI, owner: httpx.AsyncClient) -> None:
    await make(owner, "Mo", "manager", password=PASSWORD)
    with app.state.db.read() as session:
        first = store.account_named(session, "Ida")
        assert first is not None
    async with browser(app) as manager:
        await enter(manager, "Mo")
        assert (await manager.post("/people", data={"name": "Eve", "role": "owner", "password": PASSWORD})).status_code == 422
        assert (await manager.post(f"/people/{first.id}/end")).status_code == 422
    assert "last owner" in (await owner.post(f"/people/{first.id}/end")).text


@pytest.fixture
async def tablet(app: FastAPI, owner: httpx.AsyncClient) -> AsyncIterator[httpx.AsyncClient]:
    """A browser on an enrolled device, with nobody signed in."""
    answer = await owner.post("/people/tablets", data={"device": "Bench 1"})
    async with browser(app) as client:
        client.cookies.set(DEVICE_COOKIE, answer.cookies[DEVICE_COOKIE])
        yield client


async def test_casters_switch_by_pin_on_an_enrolled_tablet_alone(
    app: FastAPI, owner: httpx.AsyncClient, tablet: httpx.AsyncClient
) -> None:
    cara = await make(owner, "Cara", "caster", pin="2580")
    assert "Cara" in (await tablet.get("/switch")).text
    assert (await tablet.post("/switch", data={"account": str(cara), "pin": "2580"})).headers["location"] == "/today"
    assert "Cara, caster" in (await tablet.get("/today")).text
    async with browser(app) as elsewhere:
        refused = await elsewhere.post("/switch", data={"account": str(cara), "pin": "2580"})
        assert refused.status_code == 422
        assert "Cara" not in (await elsewhere.get("/switch")).text


async def test_the_sixth_wrong_pin_waits_and_a_colleague_does_not(owner: httpx.AsyncClient, tablet: httpx.AsyncClient) -> None:
    cara, dan = await make(owner, "Cara", "caster", pin="2580"), await make(owner, "Dan", "caster", pin="9713")
    for _ in range(5):
        assert "The PIN is not right" in (await tablet.post("/switch", data={"account": str(cara), "pin": "0000"})).text
    sixth = await tablet.post("/switch", data={"account": str(cara), "pin": "2580"})
    assert sixth.status_code == 422
    assert "Wait 30 seconds" in sixth.text or "Wait 29 seconds" in sixth.text
    assert (await tablet.post("/switch", data={"account": str(dan), "pin": "9713"})).status_code == 303


async def test_wrong_passwords_wait_too(app: FastAPI, owner: httpx.AsyncClient) -> None:
    await make(owner, "Mo", "manager", password=PASSWORD)
    async with browser(app) as client:
        for _ in range(5):
            assert "not right" in (await enter(client, "Ida", "a wrong guess")).text
        assert "Too many wrong tries" in (await enter(client, "Ida")).text
        assert (await enter(client, "Mo")).status_code == 303


async def test_withdrawing_a_tablet_signs_out_who_is_there_by_pin(
    app: FastAPI, owner: httpx.AsyncClient, tablet: httpx.AsyncClient
) -> None:
    cara = await make(owner, "Cara", "caster", pin="2580")
    await tablet.post("/switch", data={"account": str(cara), "pin": "2580"})
    with app.state.db.read() as session:
        (one,) = store.tablets(session)
    assert (await owner.post(f"/people/tablets/{one.id}/revoke")).status_code == 303
    assert (await tablet.get("/today")).status_code == 303
    assert (await tablet.post("/switch", data={"account": str(cara), "pin": "2580"})).status_code == 422


@pytest.mark.parametrize("pin", ["12", "1111", "1234", "98765", "abcd", "123456789"])
async def test_a_pin_that_anybody_would_try_is_refused(owner: httpx.AsyncClient, pin: str) -> None:
    assert (await owner.post("/people", data={"name": "Cara", "role": "caster", "pin": pin})).status_code == 422


async def test_the_board_shows_the_week_and_nothing_else(app: FastAPI, owner: httpx.AsyncClient) -> None:
    await make(owner, "Wall", "board", password=PASSWORD)
    async with browser(app) as wall:
        await enter(wall, "Wall")
        page = await wall.get("/board")
        assert page.status_code == 200
        assert 'href="/jobs"' not in page.text
        assert (await wall.get("/jobs")).status_code == 403


async def test_without_sign_in_this_machine_acts_as_the_owner_and_says_so(settings: Settings) -> None:
    app = create_app(replace(settings, sign_in=False))
    async with browser(app) as client:
        page = await client.get("/people")
        assert page.status_code == 200
        assert "Owner, this machine only" in page.text
    app.state.db.close()


def test_a_secret_is_kept_so_that_it_cannot_be_read_and_never_twice_the_same() -> None:
    once, again = kept_secret("2580"), kept_secret("2580")
    assert once != again
    assert "2580" not in once
    assert is_secret("2580", once)
    assert not is_secret("2581", once)
    assert not is_secret("2580", None)


@pytest.mark.outside("RFC 7914, section 12: test vector of scrypt for N 16384, r 8, p 1")
def test_the_digest_is_the_scrypt_of_its_standard() -> None:
    import hashlib

    digest = hashlib.scrypt(b"pleaseletmein", salt=b"SodiumChloride", n=2**14, r=8, p=1, dklen=64)
    assert digest.hex().startswith("7023bdcb3afd7348461c06cd81fd38ebfda8fbba904f8e3ea9b543f6545da1f2")


def test_the_server_makes_its_own_certificate_once_with_a_key_that_only_it_reads(tmp_path: Path) -> None:
    certificate, key = made_certificate(tmp_path)
    print_before = fingerprint(certificate)
    assert made_certificate(tmp_path) == (certificate, key)
    assert fingerprint(certificate) == print_before
    assert key.stat().st_mode & 0o077 == 0
    names = x509.load_pem_x509_certificate(certificate.read_bytes()).extensions.get_extension_for_class(x509.SubjectAlternativeName)
    assert "localhost" in names.value.get_values_for_type(x509.DNSName)


@pytest.mark.parametrize(
    "arguments", [["--host", "0.0.0.0"], ["--certificate", "c.pem"], ["--lan", "--certificate", "no.pem", "--key", "no.pem"]]
)
def test_the_server_does_not_start_half_open(arguments: list[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert cli.main(["serve", "--no-browser", *arguments]) == 2


async def test_whoever_is_signed_in_changes_their_own_pin(owner: httpx.AsyncClient, tablet: httpx.AsyncClient) -> None:
    cara = await make(owner, "Cara", "caster", pin="2580")
    await tablet.post("/switch", data={"account": str(cara), "pin": "2580"})
    wrong = await tablet.post("/who/secret", data={"current": "9999", "pin": "3691"})
    assert "not the PIN or password that you have now" in wrong.text
    plain = await tablet.post("/who/secret", data={"current": "2580", "pin": "1111"})
    assert (plain.status_code, "choose another" in plain.text) == (422, True)
    assert "type the new one" in (await tablet.post("/who/secret", data={"current": "2580"})).text
    assert (await tablet.post("/who/secret", data={"current": "2580", "pin": "3691"})).status_code == 303
    assert (await tablet.get("/who")).status_code == 200
    assert (await tablet.post("/switch", data={"account": str(cara), "pin": "2580"})).status_code == 422
    assert (await tablet.post("/switch", data={"account": str(cara), "pin": "3691"})).status_code == 303


async def test_sign_ins_that_are_over_are_forgotten(app: FastAPI, owner: httpx.AsyncClient) -> None:
    db = app.state.db
    with db.write() as session:
        row = store.account_named(session, "Ida")
        assert row is not None
        assert row.id is not None
        store.sign_in(session, "old", row.id, None, 1000)
    with db.read() as session:
        assert store.signed_in(session, "old", 900) is not None
    with db.write() as session:
        store.forget_sign_ins(session, 2000)
    with db.read() as session:
        assert store.signed_in(session, "old", 900) is None
    assert (await owner.get("/who")).status_code == 200


async def test_entries_of_the_books_name_whoever_made_them(app: FastAPI, owner: httpx.AsyncClient) -> None:
    with app.state.db.read() as session:
        known = nouns.all_of(session, Metal)[0]
    lot = {"name": "Grain", "kind": known.kind, "metal": known.id, "mass": "100 g", "melts": "0", "cost": "1"}
    for n, (element, share) in enumerate(known.composition.items()):
        lot |= {f"composition.{n}.key": element, f"composition.{n}.value": f"{share.decimal('%', 4)} %"}
    added = await owner.post("/shop/lots", data=lot)
    assert added.status_code == 303, added.text
    moved = await owner.post("/shop/lots/grain/move", data={"kind": "receipt", "mass": "5 g", "key": "k"})
    assert moved.status_code == 303, moved.text
    with app.state.db.read() as session:
        assert {entry.who for entry in books.entries(session, newest=None)} == {"Ida"}
