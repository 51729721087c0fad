"""Pieces and flasks are dragged over the week; the checker answers before anything is kept."""

from __future__ import annotations

import re

from playwright.sync_api import Page, expect

ANSWER = re.compile("OK|This breaks|Not possible")


def drag(page: Page, handle: str, place: str) -> None:
    """Drags to ``place`` and stays there, the button still held."""
    page.locator(place).first.scroll_into_view_if_needed()
    page.locator(handle).first.scroll_into_view_if_needed()
    page.locator(handle).first.hover()
    page.mouse.down()
    page.mouse.move(5, 300)
    page.locator(place).first.scroll_into_view_if_needed()
    target = page.locator(place).first.bounding_box()
    assert target is not None
    page.mouse.move(target["x"] + min(30, target["width"] / 2), target["y"] + target["height"] / 2, steps=4)


def test_pieces_held_over_a_flask_are_answered_and_escape_changes_nothing(page: Page) -> None:
    page.goto("/week")
    row = page.locator("tr[data-drop-flask]").nth(1)
    name = row.get_attribute("data-drop-flask")
    drag(page, "tr[data-drop-flask] [data-job]", f"tr[data-drop-flask={name}]")
    expect(page.locator("#moving")).to_contain_text(ANSWER, timeout=10_000)
    expect(row).to_have_class(re.compile("may"))
    page.keyboard.press("Escape")
    page.mouse.up()
    expect(page.locator("#moving")).to_be_hidden()


def test_pieces_dropped_on_a_load_of_the_axis_are_kept_at_one_press(page: Page) -> None:
    page.goto("/week")
    rows = [
        (r.get_attribute("data-drop-flask"), r.get_attribute("data-drop-load")) for r in page.locator("tr[data-drop-flask]").all()
    ]
    for flask, load in rows[:6]:
        drag(page, f"tr[data-drop-flask={flask}] [data-job]", f".axis [data-drop-load={load}]")
        expect(page.locator("#moving")).to_contain_text(ANSWER, timeout=10_000)
        page.mouse.up()
        keep = page.locator("#moving").get_by_role("button", name="Keep it as a new plan")
        if keep.count():
            keep.click()
            expect(page.locator("#said")).to_contain_text("a new plan, made by hand, passed the check")
            return
        page.keyboard.press("Escape")
    raise AssertionError("no flask had a place in its own load")


def test_without_dragging_the_same_handles_open_the_flask(page: Page) -> None:
    page.goto("/week")
    handle = page.locator("[data-job]").first
    job = handle.get_attribute("data-job")
    handle.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="Move pieces")).to_be_visible()
    expect(page.locator("#job")).to_have_value(job or "")
