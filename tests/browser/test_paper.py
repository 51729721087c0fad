"""What comes out of the printer: pages that carry their flask, plan and caution, on A4 and on Letter."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pytest
from playwright.sync_api import Page

SHEETS = {
    "ticket": ("/print/flask/F1/ticket", "F1"),
    "charge": ("/print/flask/F1/charge", "F1"),
    "checklist": ("/print/flask/F1/checklist", "F1"),
    "program": ("/print/load/L1", "L1"),
    "day": ("/print/day/2026-03-03", "Tuesday"),
}


def pages_of(pdf: Path) -> list[str]:
    """The text of each page."""
    reader = shutil.which("pdftotext")
    if reader is None:
        pytest.skip("no pdftotext on this machine: install the system's poppler-utils package to read what is printed")
    text = subprocess.run([reader, "-layout", pdf, "-"], check=True, capture_output=True, text=True, encoding="utf-8").stdout
    return [" ".join(part.split()) for part in text.split("\f") if part.strip()]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("sheet", SHEETS)
def test_every_printed_page_carries_its_head_and_the_caution(page: Page, tmp_path: Path, sheet: str, paper: str) -> None:
    address, about = SHEETS[sheet]
    page.goto(address)
    pdf = tmp_path / "sheet.pdf"
    page.pdf(path=pdf, format=paper)
    pages = pages_of(pdf)
    assert 1 <= len(pages) <= 5
    for text in pages:
        assert about in text[:40]
        assert "Plan 1" in text
        assert "does not replace training" in text


def test_the_ticket_and_the_charge_fit_one_page(page: Page, tmp_path: Path) -> None:
    for sheet in ("ticket", "charge"):
        page.goto(SHEETS[sheet][0])
        page.pdf(path=tmp_path / f"{sheet}.pdf", format="Letter")
        assert len(pages_of(tmp_path / f"{sheet}.pdf")) == 1, sheet


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_week_for_the_wall_is_one_page_on_its_side(page: Page, tmp_path: Path, paper: str) -> None:
    page.goto("/print/week/2026-03-02")
    page.pdf(path=tmp_path / "wall.pdf", format=paper, landscape=True)
    [text] = pages_of(tmp_path / "wall.pdf")
    assert "Week 10" in text[:40]
    assert all(f" {flask.inner_text()} " in f" {text} " for flask in page.locator(".wall li strong").all())
    assert "does not replace training" in text


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_guide_is_one_page(page: Page, tmp_path: Path, paper: str) -> None:
    for kind in ("manager", "caster", "owner"):
        page.goto(f"/help/guide/{kind}")
        page.pdf(path=tmp_path / "guide.pdf", format=paper)
        assert len(pages_of(tmp_path / "guide.pdf")) == 1, kind


def test_no_checklist_pause_is_cut_over_a_page_break(page: Page, tmp_path: Path) -> None:
    page.goto(SHEETS["checklist"][0])
    titles = page.locator(".pause h2").all_inner_texts()
    last_points = [pause.locator("tbody tr").last.locator("td").nth(1).inner_text() for pause in page.locator(".pause").all()]
    page.pdf(path=tmp_path / "list.pdf", format="A4")
    pages = pages_of(tmp_path / "list.pdf")
    assert len(titles) == 5
    for title, last in zip(titles, last_points, strict=True):
        on = next(text for text in pages if title in text)
        assert last.split("(")[0].strip("● ")[:30] in on, title


def test_paper_is_black_on_white_even_where_the_screen_is_dark(page: Page) -> None:
    page.emulate_media(media="print", color_scheme="dark")
    page.goto(SHEETS["charge"][0])
    colours = page.eval_on_selector("table.sheet", "e => [getComputedStyle(e).color, getComputedStyle(e).backgroundColor]")
    assert colours == ["rgb(0, 0, 0)", "rgb(255, 255, 255)"]
    assert page.locator("header.top").is_hidden()


def test_the_figures_to_weigh_are_legible_at_arms_length(page: Page) -> None:
    page.emulate_media(media="print")
    page.goto(SHEETS["charge"][0])
    size = page.eval_on_selector(".sheet .figure", "e => parseFloat(getComputedStyle(e).fontSize)")
    # about 5 mm, from memory: 17 pt at 96 px per inch
    assert size >= 22
