"""The bench calculators answer while one types, and the address holds what was typed."""

from __future__ import annotations

import re

from playwright.sync_api import Page, expect


def test_an_answer_and_an_error_appear_while_typing(page: Page) -> None:
    page.goto("/bench")
    page.get_by_role("link", name="Raise or lower a fineness").click()
    page.get_by_label("Metal to begin with").fill("10 g")
    page.get_by_label("Its fineness").fill("750")
    page.get_by_label("Fineness wanted").fill("18")
    expect(page.locator("#want-error")).to_contain_text("karats, percent or parts per thousand")
    page.get_by_label("Fineness wanted").fill("900")
    expect(page.locator("#answer")).to_contain_text("Add fine metal")
    expect(page.locator("#want-error")).to_be_empty()
    expect(page).to_have_url(re.compile(r"/bench/fineness\?mass=10(\+|%20)g&have=750&want=900&add=&ways=[^&]*$"))
    page.reload()
    expect(page.locator("#answer")).to_contain_text("15.00")
