"""axe finds nothing to complain about on any page, in light and in dark, empty and full.

The rules are those of axe-core (WCAG 2.1 levels A and AA, WCAG 2.2 target size, best practices).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from addresses import PAGES
from axe import violations
from playwright.sync_api import Browser, Page, expect


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
