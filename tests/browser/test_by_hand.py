"""Pieces and a whole flask are moved by buttons, and the plan that comes of it is not lost unasked."""

from __future__ import annotations

import re

from playwright.sync_api import Page, expect


def test_pieces_go_to_one_of_the_best_places_and_planning_again_asks_first(page: Page) -> None:
    page.goto("/flask/F1")
    page.get_by_role("button", name="Show the best places").click()
    places = page.locator("#best-places")
    expect(places.get_by_role("button").first).to_be_visible(timeout=10_000)
    expect(places).to_contain_text("Best other places")
    places.get_by_role("button", name=re.compile("^Move to")).first.click()
    expect(page.locator("#said")).to_contain_text("a new plan, made by hand, passed the check")
    page.goto("/week")
    page.get_by_label("Time for the planner").fill("2")
    page.get_by_role("button", name="Plan again").click()
    expect(page.get_by_role("alert").filter(has_text="1 move made by hand")).to_be_visible()
    page.get_by_role("link", name="Back without planning").click()
    expect(page.locator("main")).to_contain_text(re.compile(r"Plan 2, made .* by\s+hand", re.DOTALL))


def test_a_whole_flask_shows_other_slots_or_says_that_there_are_none(page: Page) -> None:
    moved = False
    for flask in ("F2", "F3", "F4", "F5", "F6"):
        page.goto(f"/flask/{flask}")
        page.get_by_role("button", name="Move the whole flask").click()
        slots = page.locator("#best-slots")
        expect(slots).to_contain_text(re.compile("All rules are kept|No other slot"), timeout=10_000)
        if slots.get_by_role("button").count():
            slots.get_by_role("button").first.click()
            expect(page.locator("#said")).to_contain_text(f"{flask} has another slot")
            moved = True
            break
    assert moved
