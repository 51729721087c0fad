"""Bringing in a list as a person does: upload, answer once, mend a cell in place, take in."""

from __future__ import annotations

from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

TYPED = {
    "due:asap": "2026-12-01",
    "due:blank": "2026-12-18",
    "weight:rush": "5",
    "weight:asap": "10",
    "size:missing": "20 x 15 x 5 mm",
}
CHOSEN = {"unit:size": "mm", "unit:pattern_mass": "g", "gr": "gr", "date:/4": "month", "date:/2": "day", "due:past": "retype"}


def answer_all(page: Page) -> int:
    """Answers every question on the page; returns how many there were."""
    questions = page.locator("section.card fieldset.field").all()
    for question in questions:
        name = question.locator("input").first.get_attribute("name") or ""
        kind = name.removeprefix("answer:").removesuffix(":typed")
        if kind in TYPED:
            question.locator("input:not([type=radio])").fill(TYPED[kind])
        elif kind in CHOSEN:
            question.locator(f'input[value="{CHOSEN[kind]}"]').check()
        else:
            question.locator("input[type=radio]").first.check()
    if questions:
        page.get_by_role("button", name="Read the list with these answers").click()
        expect(page.locator("#said")).to_contain_text("read again")
    return len(questions)


def test_the_list_as_typed_goes_through(page: Page, shared_data: Path) -> None:
    page.goto("/jobs")
    page.get_by_role("link", name="Bring in a list").first.click()
    page.set_input_files("#file", shared_data / "jobs-as-typed.csv")
    page.get_by_role("button", name="Read the list").click()
    expect(page.locator("tr[id^=row-]")).to_have_count(126)
    assert answer_all(page) > 20
    for _ in range(3):
        page.reload()
        answer_all(page)
    expect(page.get_by_role("button", name="Take in 99 jobs")).to_be_visible()
    row = page.locator("tr#row-61")
    row.get_by_label("quantity").fill("7")
    row.get_by_role("button", name="Read again").click()
    expect(page.locator("tr#row-61 .mark")).to_have_text("ready")
    page.get_by_role("button", name="Take in 100 jobs").click()
    expect(page.locator("#said")).to_contain_text("100 jobs were taken in")
    page.goto("/jobs")
    expect(page.get_by_text("2457").first).to_be_visible()


@pytest.mark.outside("axe-core, rules for accessible pages")
def test_the_pages_of_a_list_are_accessible(page: Page) -> None:
    page.goto("/intake")
    problems = Axe().run(page).response["violations"]
    page.fill("#text", "Job,Item,Metal,Qty,Wax wt,Size,Due\n1,ring,14k,a few,3 gr,22 x 18 x 9,12/05/2026\n")
    page.get_by_role("button", name="Read the list").click()
    expect(page.locator("#questions")).to_be_visible()
    problems += Axe().run(page).response["violations"]
    page.get_by_role("link", name="Type row 2 anew").click()
    expect(page.get_by_role("heading", name="Row 2")).to_be_visible()
    problems += Axe().run(page).response["violations"]
    assert [(p["id"], [n["html"] for n in p["nodes"]][:2]) for p in problems] == []


def test_without_script_the_forms_work_too(browser: Browser, page: Page) -> None:
    plain = browser.new_context(java_script_enabled=False, base_url=page.request.get("/alive").url.removesuffix("/alive"))
    page = plain.new_page()
    page.goto("/intake")
    page.fill("#text", "Job,Item,Metal,Qty,Wax wt,Size,Due\n77,ring,925,1,3 gr,22 x 18 x 9 mm,2026-12-05\n")
    page.get_by_role("button", name="Read the list").click()
    page.locator('input[name="answer:gr"][value="gr"]').check()
    page.get_by_role("button", name="Read the list with these answers").click()
    expect(page.get_by_text("2 questions, each asked once")).to_be_visible()
    plain.close()
