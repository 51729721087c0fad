"""A manager tries a change, looks at both weeks, and keeps one; with script and without."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from webapp.actions import what_if

PLANNED = 60_000
"""milliseconds; the planner may need more than its time to weigh out"""


@pytest.fixture(autouse=True)
def _three_seconds(monkeypatch: pytest.MonkeyPatch) -> None:
    """A trial that is looked at needs no better plan than three seconds make."""
    monkeypatch.setattr(what_if, "SECONDS", 3)


def test_a_change_is_tried_given_up_tried_again_and_kept(page: Page) -> None:
    page.goto("/week")
    page.get_by_role("link", name="What if").click()
    page.get_by_label("Put this job off").select_option("J144")
    page.get_by_label("Overtime", exact=True).fill("soon")
    page.get_by_role("button", name="Try it").click()
    expect(page.locator("#overtime-error")).to_contain_text("8 hours")
    expect(page.get_by_label("Put this job off")).to_have_value("J144")
    page.get_by_label("Overtime", exact=True).fill("3 h")
    page.get_by_role("button", name="Try it").click()
    expect(page.get_by_role("heading", name="Two weeks side by side")).to_be_visible(timeout=PLANNED)
    expect(page.locator("main")).to_contain_text("overtime up to 3 h a day instead of 2 h")
    row = page.locator("tr", has=page.get_by_role("rowheader", name="J144"))
    expect(row).to_contain_text("not on the list")
    page.get_by_role("button", name="Keep the week as it is").click()
    expect(page.locator("#said")).to_contain_text("Nothing was changed")

    page.get_by_label("Put this job off").select_option("J144")
    page.get_by_role("button", name="Try it").click()
    page.get_by_role("button", name="Stop and look at the best plan").click()
    expect(page.get_by_role("heading", name="Two weeks side by side")).to_be_visible(timeout=PLANNED)
    page.get_by_role("button", name="Keep the week with the change").click()
    expect(page.locator("#said")).to_contain_text("is put off")
    expect(page.locator("main")).to_contain_text("Plan 2, made")
    page.goto("/jobs")
    expect(page.locator("tr", has=page.get_by_role("link", name="J144", exact=True))).to_have_count(0)


def test_without_script_a_trial_is_looked_at_again(browser: Browser, server: Any) -> None:
    context = browser.new_context(java_script_enabled=False, base_url=server.address)
    page = context.new_page()
    page.goto("/what-if")
    page.get_by_label("Overtime", exact=True).fill("1 h")
    page.get_by_role("button", name="Try it").click()
    page.get_by_role("button", name="Stop and look at the best plan").click()
    while page.get_by_role("heading", name="Two weeks side by side").count() == 0:
        page.wait_for_timeout(300)
        page.get_by_role("link", name="Look again").click()
        page.wait_for_load_state()
    page.get_by_role("button", name="Keep the week as it is").click()
    expect(page.locator("#said")).to_contain_text("Nothing was changed")
    context.close()
