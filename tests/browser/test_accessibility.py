"""axe finds nothing to complain about on any page, in light and in dark, empty and full.

The rules are those of axe-core (WCAG 2.1 levels A and AA, WCAG 2.2 target size, best practices).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from axe import violations
from playwright.sync_api import Browser, Page, expect

PAGES = {
    "week": "/week",
    "flask": "/flask/F1",
    "a move that is tried": "/flask/F1/move?job=J103&pieces=1&to=",
    "the best other places": "/flask/F1/places?job=J103&pieces=1",
    "the best other slots": "/flask/F1/slots",
    "what if": "/what-if",
    "calendar": "/calendar",
    "today": "/today",
    "a casting day": "/today?day=2026-03-03",
    "a day without work": "/today?day=2026-03-01",
    "metal": "/metal",
    "metal to order": "/metal/order",
    "metal that comes back": "/metal/back",
    "metal lost": "/metal/loss",
    "prices of metal": "/metal/prices",
    "the charges of a flask": "/metal/charge/F1",
    "the metal of a flask": "/flask/F1/metal",
    "the books": "/books",
    "where it went": "/books/where/forth/lot/L04",
    "the order on paper": "/metal/order/draft",
    "bench": "/bench",
    "what the record says": "/learning",
    "a bench calculator with its answer": "/bench/metal?pattern=1.2+dwt&count=3",
    "a bench calculator with errors": "/bench/mix?alloy=silver-925&mass=x&m.1.mass=3",
    "jobs": "/jobs",
    "no job of this kind": "/jobs?state=cast",
    "a new job": "/jobs/new",
    "a job": "/jobs/J103",
    "bring in a list": "/intake",
    "shop": "/shop",
    "alloys": "/shop/alloys",
    "an alloy": "/shop/alloys/silver-925",
    "a new program": "/shop/programs/new",
    "a lot with its ledger": "/shop/lots/L04",
    "rules": "/shop/rules/1",
    "checklists": "/shop/checklists",
    "a new point": "/shop/checklists/new?pause=invest",
    "people and tablets": "/people",
    "who am I": "/who",
    "switch on a tablet": "/switch",
    "sign in": "/sign-in",
    "the board": "/board",
    "files": "/exchange",
    "a flask on the floor": "/flask/F1/floor",
    "a stage that is done": "/flask/F1/floor/invested",
    "a checklist that was let pass": "/flask/F1/check/kiln",
    "a tree weighed": "/flask/F1/tree",
    "the pieces of a flask": "/flask/F1/pieces",
    "last times": "/flask/F1/times",
    "the record of a flask": "/flask/F1/record",
    "consumables": "/metal/consumables",
    "setting up": "/setup",
    "words of the trade": "/help",
    "a guide to print": "/help/guide/caster",
    "the keys of the desk": "/help/keys",
    "safe copies": "/copies",
    "models": "/models",
    "nothing at this address": "/nothing-here",
    "ticket": "/print/flask/F1/ticket",
    "charge": "/print/flask/F1/charge",
    "checklist": "/print/flask/F1/checklist",
    "kiln program": "/print/load/L1",
    "day sheet": "/print/day/2026-03-03",
    "labels": "/print/labels/2026-03-03",
    "the papers of a day": "/print/papers/2026-03-03",
    "the week for the wall": "/print/week/2026-03-02",
    "all papers of a day": "/print/all/2026-03-03",
}


@pytest.fixture(scope="module")
def reader(browser: Browser, server: Any) -> Iterator[Page]:
    """The policy that forbids foreign scripts is lifted for axe alone."""
    context = browser.new_context(viewport={"width": 1024, "height": 768}, base_url=server.address, bypass_csp=True)
    yield context.new_page()
    context.close()


@pytest.mark.parametrize("address", PAGES.values(), ids=PAGES.keys())
def test_a_page_is_accessible_in_light_and_in_dark(reader: Page, address: str) -> None:
    answer = reader.goto(address)
    assert answer is not None
    assert answer.status == (404 if address == PAGES["nothing at this address"] else 200)
    assert violations(reader) == []
    assert violations(reader, "dark") == []


@pytest.mark.parametrize("address", ["/week", "/metal", "/jobs", "/today?day=2026-03-03"])
def test_a_page_is_accessible_on_a_phone(reader: Page, address: str) -> None:
    reader.set_viewport_size({"width": 375, "height": 700})
    reader.goto(address)
    assert violations(reader) == []
    reader.set_viewport_size({"width": 1024, "height": 768})


def test_a_form_with_errors_is_accessible_and_each_error_is_tied_to_its_field(reader: Page) -> None:
    reader.goto("/jobs/new")
    reader.get_by_label("Width").fill("wide")
    reader.get_by_role("button", name="Save").click()
    expect(reader.get_by_role("alert").filter(has_text="Not saved.").first).to_be_visible()
    assert violations(reader) == []
    assert violations(reader, "dark") == []
    for field in reader.locator("[aria-invalid=true]").all():
        described = (field.get_attribute("aria-describedby") or "").split()
        assert any(reader.locator(f'[id="{one}"].error').count() for one in described)


def test_the_first_stop_of_the_keyboard_skips_to_the_content(reader: Page) -> None:
    reader.goto("/week")
    reader.keyboard.press("Tab")
    expect(reader.get_by_role("link", name="Skip to the content")).to_be_focused()
    reader.keyboard.press("Enter")
    reader.keyboard.press("Tab")
    expect(reader.get_by_label("Time for the planner")).to_be_focused()
