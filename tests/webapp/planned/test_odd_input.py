"""Characters that nobody can type and numbers that nobody needs: whatever form they come in by, the answer is calm."""

from __future__ import annotations

import json
import os
from html.parser import HTMLParser
from itertools import cycle

import httpx
import pytest

from webapp.store.books_check import broken
from webapp.store.engine import Database
from webapp.store.plans import current_plan

NUL = "a\0b"
LARGE = ("9999999999", "9" * 25, "-" + "9" * 25, "1e30", "9" * 25 + " g")
FIXED = {"version", "_version", "token"}


class _Forms(HTMLParser):
    """Forms that change something: address, what they send, and which of it people type."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str], set[str]]] = []
        self.open = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = {name: value or "" for name, value in attrs}
        if tag == "form":
            self.open = given.get("method", "").lower() == "post" and "multipart" not in given.get("enctype", "")
            if self.open:
                self.found.append((given.get("action", ""), {}, set()))
        elif self.open and tag in ("input", "textarea", "select", "button") and given.get("name"):
            _, values, typed = self.found[-1]
            values.setdefault(given["name"], given.get("value", ""))
            if tag == "textarea" or (tag == "input" and given.get("type", "text") not in ("checkbox", "radio", "submit", "file")):
                typed.add(given["name"])

    def handle_endtag(self, tag: str) -> None:
        self.open = self.open and tag != "form"


PAGES = (
    "/jobs/new",
    "/jobs/J101",
    "/shop/alloys/new",
    "/shop/metals/new",
    "/shop/lots/R01",
    "/shop/lots/new",
    "/shop/powders/new",
    "/shop/consumables/new",
    "/shop/kilns/new",
    "/shop/people/new",
    "/shop/rules/1",
    "/metal/order",
    "/metal/prices",
    "/metal/consumables",
    "/metal/back",
    "/books/entries/1/take-back",
    "/people",
    "/what-if",
)


@pytest.fixture
def pages(db: Database) -> tuple[str, ...]:
    with db.read() as session:
        stored = current_plan(session)
    assert stored is not None
    flask = stored.plan.flasks[0].id
    return (*PAGES, f"/flask/{flask}", f"/flask/{flask}/metal", f"/flask/{flask}/floor", f"/metal/charge/{flask}")


async def test_no_form_breaks_on_what_no_column_holds(client: httpx.AsyncClient, db: Database, pages: tuple[str, ...]) -> None:
    """The long run sends every form everything, the short one each form a character and a number."""
    seen, numbers = 0, cycle(LARGE)
    for page in pages:
        forms = _Forms()
        forms.feed((await client.get(page)).text)
        for action, values, typed in forms.found:
            large = LARGE if os.environ.get("CASTWEEK_LONG") else (next(numbers),)
            for odd in (NUL, *large) if typed - FIXED else ():
                sent = {name: odd if name in typed - FIXED else value for name, value in values.items()}
                answer = await client.post(action or page, data=sent)
                assert answer.status_code < 500, (page, action, odd, answer.text[:2000])
                seen += 1
    assert seen > 50
    with db.read() as session:
        assert broken(session) == ()


@pytest.mark.parametrize(
    "address",
    [
        "/jobs/%00",
        "/jobs?q=%00",
        "/books/account/lot/%00",
        "/books/where/back/job/%00",
        f"/books?before={'9' * 25}",
        f"/books/entries/{'9' * 25}/take-back",
        "/flask/%00",
        "/flask/%00/metal",
        "/metal/charge/%00",
        "/shop/lots/%00",
        f"/shop/closures/{'9' * 18}",
        f"/f/{'9' * 25}",
        "/today?day=%00",
    ],
)
async def test_no_address_breaks_on_it(client: httpx.AsyncClient, address: str) -> None:
    assert (await client.get(address)).status_code < 500


async def test_files_with_it_are_refused_in_words(client: httpx.AsyncClient) -> None:
    rows = "metal,price,per\nFine\0gold,3110.35,ozt\nFine gold,99999999999999999999999999,g\n"
    answer = await client.post("/metal/prices/list", files={"file": ("prices.csv", rows.encode())})
    assert answer.status_code < 500
    week = json.loads((await client.get("/exchange/week.json")).text)
    week["jobs"][0]["customer"] = "a\0b"
    sent = {"file": ("week.json", json.dumps(week).encode(), "application/json")}
    shown = await client.post("/exchange/preview", files=sent)
    assert shown.status_code < 500
    forms = _Forms()
    forms.feed(shown.text)
    for action, values, _ in forms.found:
        loaded = await client.post(action, data=values)
        assert loaded.status_code < 500, loaded.text[:500]
    week["jobs"][0] |= {"customer": "", "quantity": 2**40}
    sent = {"file": ("week.json", json.dumps(week).encode(), "application/json")}
    refused = await client.post("/exchange/preview", files=sent)
    assert refused.status_code == 422
    assert "quantity" in refused.text
