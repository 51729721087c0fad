"""The desk by keyboard: our own keys, which rest in fields and can be switched off; words explained beside their field."""

from __future__ import annotations

from playwright.sync_api import Page, expect


def test_keys_go_to_pages_rest_in_fields_and_can_be_switched_off(page: Page) -> None:
    page.goto("/jobs")
    page.keyboard.press("g")
    page.keyboard.press("m")
    page.wait_for_url("**/metal")
    page.goto("/jobs/new")
    page.get_by_label("Width").fill("gw?")
    assert page.url.endswith("/jobs/new")
    page.goto("/jobs")
    page.keyboard.press("j")
    first = page.evaluate("document.activeElement.getAttribute('href')")
    page.keyboard.press("j")
    assert page.evaluate("document.activeElement.getAttribute('href')") != first
    page.keyboard.press("k")
    assert page.evaluate("document.activeElement.getAttribute('href')") == first
    page.keyboard.press("?")
    page.wait_for_url("**/help/keys")
    page.get_by_label("Use these keys on this device").uncheck()
    page.locator("h1").click()
    page.keyboard.press("g")
    page.keyboard.press("w")
    page.reload()
    assert page.url.endswith("/help/keys")
    expect(page.get_by_label("Use these keys on this device")).not_to_be_checked()


def test_a_word_is_explained_beside_its_field_by_keyboard(page: Page) -> None:
    page.goto("/shop/alloys/silver-925")
    page.get_by_role("button", name="What “melt loss” means").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_text("What the melt does not give back.").first).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.locator("#melt_loss-word")).to_be_hidden()
