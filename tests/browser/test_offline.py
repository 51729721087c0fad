"""The floor's pages without network: read again as they were, by whoever they were kept for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

KEPT = "async () => (await (await caches.open('castweek-pages')).keys()).map((one) => new URL(one.url).pathname)"


@pytest.fixture
def tablet(browser: Browser, server: Any) -> Iterator[Page]:
    """Without the rule that the console stays silent: a lost network is told there."""
    context = browser.new_context(viewport={"width": 1024, "height": 768}, base_url=server.address)
    yield context.new_page()
    context.close()


def kept(page: Page, address: str) -> None:
    """Waits until the page is kept on the device."""
    for _ in range(300):
        if address in page.evaluate(KEPT):
            return
        page.wait_for_timeout(100)
    pytest.fail(f"{address} was not kept")


def test_a_page_of_the_floor_is_read_again_without_network_and_what_is_done_there_is_sent_once(tablet: Page) -> None:
    page = tablet
    page.goto("/flask/F1/floor")
    kept(page, "/flask/F1/floor")
    page.goto("/today?day=2026-03-02")
    kept(page, "/today")
    tasks = page.locator(".task").count()
    page.context.set_offline(True)
    page.reload()
    expect(page.locator("[data-floor-kept]")).to_contain_text("No connection. This page is as it was at")
    assert page.locator(".task").count() == tasks > 0
    page.locator("form[data-outbox][action='/today/done'] button").first.click()
    expect(page.locator("#outbox")).to_contain_text("NOT SAVED: trying again")
    page.reload()
    expect(page.locator("#outbox")).to_contain_text("1 entry kept on this device")
    page.goto("/flask/F1/floor")
    expect(page.locator("h1")).to_contain_text("F1")
    page.context.set_offline(False)
    expect(page.locator("[data-floor-kept]")).to_be_hidden(timeout=20_000)
    expect(page.locator("#outbox")).to_contain_text("✓ saved", timeout=20_000)


def test_a_page_of_the_desk_is_not_kept_and_nothing_stays_for_the_next_person(page: Page) -> None:
    page.goto("/today")
    kept(page, "/today")
    page.goto("/metal")
    page.evaluate("() => localStorage.setItem('castweek-kept-for', '77')")
    page.goto("/jobs")
    assert page.evaluate(KEPT) == []
