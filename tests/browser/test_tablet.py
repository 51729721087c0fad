"""The caster's tablet and the manager's desk: big controls, nothing to scroll sideways, no need of script."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

PAGES = [
    "/week",
    "/flask/F1",
    "/what-if",
    "/today?day=2026-03-03",
    "/metal",
    "/jobs",
    "/jobs/new",
    "/intake",
    "/shop",
    "/shop/alloys",
    "/shop/alloys/silver-925",
    "/shop/lots",
    "/shop/metals",
    "/shop/people",
    "/shop/programs",
    "/shop/rules/1",
    "/shop/checklists",
    "/exchange",
    "/print/flask/F1/ticket",
    "/print/day/2026-03-03",
]
TABLET, UPRIGHT, DESK = (1024, 768), (800, 1280), (1440, 900)
DESK_AT_200_PERCENT, PHONE = (720, 450), (375, 700)

WIDER_THAN_THEIR_BOX = """() => [...document.querySelectorAll(".scroll, .axis-scroll")]
    .filter(box => box.scrollWidth > box.clientWidth + 1).map(box => `${box.className} ${box.scrollWidth} > ${box.clientWidth}`)"""
SIDEWAYS = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
SMALL_CONTROLS = """() => [...document.querySelectorAll("a, button, input:not([type=hidden]), select, summary")]
    .filter(one => !one.classList.contains("skip") && one.getClientRects().length)
    .map(one => [one.textContent.trim() || one.name, one.getBoundingClientRect()])
    .filter(([, box]) => box.height < 60 || box.width < 60).map(([name, box]) => `${name}: ${box.width} × ${box.height}`)"""


@pytest.mark.parametrize(("width", "height"), [TABLET, UPRIGHT], ids=["lying", "upright"])
def test_every_control_of_the_queue_can_be_hit_with_a_glove(page: Page, width: int, height: int) -> None:
    page.set_viewport_size({"width": width, "height": height})
    for address in ("/today", "/today?day=2026-03-03", "/today?day=2026-03-01"):
        page.goto(address)
        assert page.evaluate(SMALL_CONTROLS) == [], address


@pytest.mark.parametrize("address", PAGES)
def test_nothing_is_scrolled_sideways(page: Page, address: str) -> None:
    page.goto(address)
    for width, height in (TABLET, DESK):
        page.set_viewport_size({"width": width, "height": height})
        assert page.evaluate(SIDEWAYS) <= 0, width
        assert page.evaluate(WIDER_THAN_THEIR_BOX) == [], width


@pytest.mark.parametrize("address", PAGES)
def test_on_little_room_only_tables_and_drawings_scroll_in_themselves(page: Page, address: str) -> None:
    page.goto(address)
    for width, height in (DESK_AT_200_PERCENT, PHONE, UPRIGHT):
        page.set_viewport_size({"width": width, "height": height})
        assert page.evaluate(SIDEWAYS) <= 0, width
    for box in page.locator(".axis-scroll").all():
        assert box.get_attribute("tabindex") == "0"
        assert box.get_attribute("aria-label")


@pytest.mark.parametrize(("width", "height"), [DESK_AT_200_PERCENT, PHONE], ids=["zoomed", "phone"])
@pytest.mark.parametrize("address", ["/week", "/metal", "/jobs"])
def test_on_little_room_a_row_becomes_a_block_that_names_its_figures(page: Page, address: str, width: int, height: int) -> None:
    page.set_viewport_size({"width": width, "height": height})
    page.goto(address)
    assert [box for box in page.evaluate(WIDER_THAN_THEIR_BOX) if not box.startswith("axis")] == []
    unnamed = "cells => cells.filter(cell => !getComputedStyle(cell, '::before').content.includes(':')).length"
    figures = page.locator("table.stack tbody td.number")
    assert figures.count() > 10
    assert figures.evaluate_all(unnamed) == 0


@pytest.fixture
def plain(browser: Browser, server: Any) -> Iterator[Page]:
    """A page in a browser that runs no script."""
    context = browser.new_context(java_script_enabled=False, viewport={"width": 1024, "height": 768}, base_url=server.address)
    yield context.new_page()
    context.close()


def fill_job(page: Page) -> None:
    page.get_by_label("Job number").fill("J950")
    page.get_by_label("What is cast").fill("Plain band")
    page.get_by_label("Alloy").select_option(label="Silver 925")
    page.get_by_label("Thickness").select_option("medium")
    page.get_by_label("Pattern material").select_option(index=1)
    page.get_by_label("Pieces", exact=True).fill("2")
    page.get_by_label("One pattern weighs").fill("0.4 g")
    page.get_by_label("Width").fill("18")
    page.get_by_label("Height").fill("6")
    page.get_by_label("Reach").fill("18")
    page.get_by_label("Due on").fill("2026-03-09")


def test_without_script_a_job_is_added_planned_moved_and_a_flask_marked_and_unmarked(plain: Page) -> None:
    plain.goto("/jobs/new")
    fill_job(plain)
    plain.get_by_role("button", name="Save").click()
    expect(plain.locator("#said")).to_contain_text("J950")

    plain.goto("/week")
    plain.get_by_label("Time for the planner").fill("2")
    plain.get_by_role("button", name="Plan again").click()
    for _ in range(60):
        if plain.get_by_role("button", name="Plan again").count():
            break
        expect(plain.get_by_role("button", name="Stop and keep the best plan")).to_be_visible()
        expect(plain.get_by_role("link", name="Look again")).to_be_visible()
        plain.wait_for_timeout(500)
        plain.goto("/week")
    expect(plain.locator("main")).to_contain_text(re.compile(r"Plan 2, made"))

    plain.goto("/jobs")
    row = plain.locator("tr", has=plain.get_by_role("link", name="J950", exact=True))
    row.get_by_role("link", name=re.compile(r"^F\d+$")).first.click()
    flask = re.sub(r".*/", "", plain.url)
    move = plain.locator("form", has=plain.get_by_role("button", name="Try"))
    for place in move.get_by_label("To").locator("option").all():
        move.get_by_label("Job").select_option("J950")
        move.get_by_label("Pieces").fill("1")
        move.get_by_label("To").select_option(place.get_attribute("value"))
        move.get_by_role("button", name="Try").click()
        if "OK." in plain.locator("#move-answer").inner_text():
            break
        plain.goto(f"/flask/{flask}")
    plain.get_by_role("button", name="Keep it as a new plan").click()
    expect(plain.locator("#said")).to_contain_text("plan")

    plain.goto("/today")
    for _ in range(14):
        done = plain.get_by_role("button", name=re.compile("^Done: invested"))
        if done.count():
            break
        plain.get_by_role("link", name="▶").click()
    named = (done.first.get_attribute("aria-label") or "").removeprefix("Done: ")
    done.first.click()
    undo = plain.get_by_role("button", name=f"Undo: {named}")
    expect(undo).to_be_visible()
    undo.click()
    expect(plain.get_by_role("button", name=f"Done: {named}")).to_be_visible()
