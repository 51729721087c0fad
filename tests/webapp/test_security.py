"""Who may talk to the server, and what its pages may do."""

from __future__ import annotations

import hashlib
import re

import httpx
import pytest

from webapp.pages import resource_folder
from webapp.security import host_is_ours


async def test_a_post_from_a_foreign_origin_is_refused(client: httpx.AsyncClient) -> None:
    answer = await client.post("/jobs", headers={"Origin": "http://elsewhere.example"}, data={"item": "ring"})
    assert answer.status_code == 403
    assert "Nothing was changed" in answer.text


async def test_a_post_that_says_it_is_cross_site_is_refused_whatever_its_origin(client: httpx.AsyncClient) -> None:
    assert (await client.post("/jobs", headers={"Sec-Fetch-Site": "cross-site"})).status_code == 403


async def test_a_post_without_any_origin_is_refused(client: httpx.AsyncClient) -> None:
    del client.headers["origin"]
    assert (await client.post("/jobs", data={"item": "ring"})).status_code == 403


async def test_a_host_that_is_not_ours_is_refused(client: httpx.AsyncClient) -> None:
    assert (await client.get("/alive", headers={"Host": "evil.example"})).status_code == 400


@pytest.mark.parametrize("host", ["localhost:8765", "127.0.0.1", "192.168.1.20:8765", "[::1]:8765", "studio.lan"])
def test_addresses_and_allowed_names_are_ours(host: str) -> None:
    assert host_is_ours(host, frozenset({"studio.lan"}))


@pytest.mark.parametrize("host", ["", "evil.example", "localhost.evil.example", "127.0.0.1.evil.example"])
def test_other_names_are_not_ours(host: str) -> None:
    assert not host_is_ours(host, frozenset())


async def test_pages_forbid_inline_script_and_foreign_content(client: httpx.AsyncClient) -> None:
    policy = (await client.get("/no-such-page")).headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy


async def test_a_body_beyond_the_cap_is_refused(client: httpx.AsyncClient) -> None:
    answer = await client.post("/jobs", files={"file": ("big.csv", b"x" * (9 * 1024 * 1024))})
    assert answer.status_code == 413


async def test_an_unknown_page_is_answered_in_words(client: httpx.AsyncClient) -> None:
    answer = await client.get("/no-such-page")
    assert answer.status_code == 404
    assert "There is nothing at this address" in answer.text


def test_vendored_scripts_are_what_the_manifest_says() -> None:
    folder = resource_folder("static") / "vendor"
    rows = re.findall(r"\| (\S+\.js) \|.*\| ([0-9a-f]{64}) \|", (folder / "MANIFEST.md").read_text())
    assert {name for name, _ in rows} == {path.name for path in folder.glob("*.js")}
    for name, digest in rows:
        assert hashlib.sha256((folder / name).read_bytes()).hexdigest() == digest
