"""Choosing units, and a flask read in them."""

from __future__ import annotations

from playwright.sync_api import Page, expect


def test_units_are_chosen_with_an_example_and_all_pages_follow(page: Page) -> None:
    page.goto("/who")
    page.get_by_role("link", name="Units").click()
    expect(page.locator("#example")).to_contain_text("510\u202f°C")
    page.get_by_label("Temperatures").select_option("°F")
    expect(page.locator("#example")).to_contain_text("950\u202f°F")
    page.get_by_role("button", name="All U.S. customary").click()
    expect(page.locator("#said")).to_contain_text("The shop reads so from now on")
    for address in ("/today", "/flask/F1", "/week", "/jobs/new"):
        page.goto(address)
        assert page.evaluate("document.documentElement.scrollWidth") <= 1024, address
        wide = "[...document.querySelectorAll('.task-time')].filter(one => one.scrollWidth > one.clientWidth + 1).length"
        assert page.evaluate(wide) == 0, address
    page.goto("/bench/spin?radius=6&rpm=400")
    expect(page.locator("#answer")).to_contain_text("6.000\u202fin (152.4\u202fmm)")
