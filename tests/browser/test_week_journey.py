"""A manager's morning: a job comes in, the week is planned, a flask is opened, pieces move, the list is printed."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

from playwright.sync_api import Page, expect


def fill_new_job(page: Page) -> None:
    page.get_by_label("Job number").fill("J900")
    page.get_by_label("What is cast").fill("Acorn button")
    page.get_by_label("Alloy").select_option(label="Silver 925")
    page.get_by_label("Thickness").select_option("medium")
    page.get_by_label("Pattern material").select_option(index=1)
    page.get_by_label("Pieces", exact=True).fill("6")
    page.get_by_label("One pattern weighs").fill("0.4 dwt")
    page.get_by_label("Width").fill("1/2 in")
    page.get_by_label("Height").fill("14 mm")
    page.get_by_label("Reach").fill("9")
    page.get_by_label("Due on").fill("2026-03-06")


def flask_with(page: Page, job: str) -> str:
    """The first flask that the job's row names."""
    page.goto("/jobs")
    row = page.locator("tr", has=page.get_by_role("link", name=job, exact=True))
    return row.get_by_role("link", name=re.compile(r"^F\d+$")).first.inner_text()


def test_from_a_new_job_to_a_printed_checklist(page: Page, tmp_path: Path) -> None:
    page.goto("/jobs/new")
    fill_new_job(page)
    page.get_by_label("Width").fill("wide")
    page.get_by_role("button", name="Save").click()
    expect(page.locator(".error").first).to_contain_text("wide")
    expect(page.get_by_label("One pattern weighs")).to_have_value("0.4 dwt")
    page.get_by_label("Width").fill("1/2 in")
    page.get_by_role("button", name="Save").click()
    expect(page.locator("#said")).to_contain_text("J900")

    page.goto("/week")
    expect(page.locator("main")).to_contain_text("J900")
    page.get_by_label("Time for the planner").fill("4")
    page.get_by_role("button", name="Plan again").click()
    expect(page.locator("main")).to_contain_text(re.compile(r"Plan 2, made"), timeout=60_000)
    expect(page.get_by_role("heading", name="Needs attention")).to_be_visible()
    expect(page.locator("main")).to_contain_text("J146 Heron door handle")

    flask = flask_with(page, "J900")
    page.goto(f"/flask/{flask}")
    expect(page.get_by_role("heading", level=1)).to_contain_text("Silver 925")
    expect(page.locator("svg.tree")).to_be_visible()

    move = page.locator("form", has=page.get_by_role("button", name="Try"))
    move.get_by_label("Job").select_option(index=0)
    move.get_by_label("Pieces").fill("1")
    for option in range(move.get_by_label("To").locator("option").count()):
        move.get_by_label("To").select_option(index=option)
        move.get_by_role("button", name="Try").click()
        answer = page.locator("#move-answer")
        expect(answer).to_contain_text(re.compile(r"OK\.|Not possible\.|This breaks"), timeout=10_000)
        if "OK." in answer.inner_text():
            page.get_by_role("button", name="Keep it as a new plan").click()
            break
    expect(page.locator("#said")).to_contain_text("plan", ignore_case=True)
    page.goto("/week")
    expect(page.locator("main")).to_contain_text(re.compile(r"Plan 3, made .* by\s+hand", re.DOTALL))

    page.goto(f"/flask/{flask}")
    page.get_by_role("link", name="Print the checklist").click()
    expect(page.locator(".sheet-about")).to_have_text(flask)
    page.pdf(path=tmp_path / "checklist.pdf", format="A4")
    if reader := shutil.which("pdftotext"):
        text = subprocess.run([reader, tmp_path / "checklist.pdf", "-"], check=True, capture_output=True, text=True).stdout
        assert flask in text
        assert "Before release of the arm" in text or "Before the vacuum pour" in text
        assert "does not replace training" in text


def test_a_pinned_flask_stays_where_it_is_through_a_new_plan(page: Page) -> None:
    flask = flask_with(page, "J101")
    page.goto(f"/flask/{flask}")
    page.get_by_label("Reason").fill("the customer watches")
    page.get_by_role("button", name="Pin: no plan moves it").click()
    before = page.locator("dl.facts").first.inner_text()
    page.goto("/week")
    page.get_by_label("Time for the planner").fill("2")
    page.get_by_role("button", name="Plan again").click()
    page.get_by_role("button", name="Plan without keeping them").click()
    expect(page.get_by_role("button", name="Plan again")).to_be_visible(timeout=60_000)
    page.goto(f"/flask/{flask}")
    after = page.locator("dl.facts").first.inner_text()
    assert before.split("Plan")[0] == after.split("Plan")[0]


def test_planning_can_be_stopped_and_keeps_the_best_plan(page: Page) -> None:
    page.goto("/week")
    page.get_by_label("Time for the planner").fill("120")
    page.get_by_role("button", name="Plan again").click()
    stop = page.get_by_role("button", name=re.compile("Stop"))
    expect(stop).to_be_visible(timeout=30_000)
    expect(page.locator("main")).to_contain_text("Left out", timeout=30_000)
    stop.click()
    expect(page.get_by_role("button", name="Plan again")).to_be_visible(timeout=60_000)
    expect(page.get_by_role("heading", name="Needs attention")).to_be_visible()
