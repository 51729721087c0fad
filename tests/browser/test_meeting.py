"""Two windows edit the same machine: the second is shown what the first changed, and saves on purpose."""

from __future__ import annotations

import re

from playwright.sync_api import Page, expect

ADDRESS = "/shop/machines/spring-torch"


def test_the_second_window_keeps_what_was_typed_and_shows_what_the_first_changed(page: Page) -> None:
    other = page.context.new_page()
    for window in (page, other):
        window.goto(ADDRESS)
    page.get_by_label("Minutes per cast").fill("14")
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_text("The casting machine was saved.")).to_be_visible()
    other.get_by_label("Name", exact=True).fill("Centrifuge by the window")
    other.get_by_role("button", name="Save", exact=True).click()
    expect(other.get_by_role("alert").filter(has_text="Somebody else saved")).to_be_visible()
    told = other.get_by_role("row").filter(has_text="Minutes per cast")
    expect(told).to_contain_text("12")
    expect(told).to_contain_text("14")
    expect(other.get_by_label("Name", exact=True)).to_have_value("Centrifuge by the window")
    expect(other.get_by_label("Minutes per cast")).to_have_value(re.compile(r"14\smin"))
    other.get_by_role("button", name="Save", exact=True).click()
    expect(other.get_by_text("The casting machine was saved.")).to_be_visible()
    page.goto(ADDRESS)
    expect(page.get_by_label("Name", exact=True)).to_have_value("Centrifuge by the window")
    expect(page.get_by_label("Minutes per cast")).to_have_value(re.compile(r"14\smin"))
