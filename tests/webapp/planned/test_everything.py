"""All papers of a day in one: complete, in the order of the work, on the paper asked for; and calm where no PDF can be made."""

from __future__ import annotations

import re
import shutil
import stat
import subprocess
import sys
from collections.abc import AsyncIterator, Callable
from dataclasses import replace
from datetime import date
from pathlib import Path

import httpx
import pytest
from fastapi import FastAPI

from domain.planning.plan import Plan
from domain.planning.problem import Problem
from webapp.actions.planning import load_desk
from webapp.app import create_app
from webapp.paper import Paper, document
from webapp.pdf import NoPdf, find_browser, pdf_of
from webapp.settings import Settings

pytestmark = pytest.mark.anyio

FIRST_CASTS = date(2026, 3, 3)
ABOUT = re.compile(r'<p class="sheet-about">([^<]*)</p>\s*<p class="sheet-what">([^<]*)</p>')


@pytest.fixture
def planned(app: FastAPI) -> tuple[Problem, Plan]:
    with app.state.db.read() as session:
        desk = load_desk(session, app.state.settings)
    assert desk.plan is not None
    return desk.problem, desk.plan


def expected(problem: Problem, plan: Plan, day: date) -> list[tuple[str, str]]:
    """Whose sheets follow the day's own, and which."""
    work = [(f.invest_start, f.id, ("Flask ticket", "Pre-cast checklist")) for f in plan.flasks]
    work += [(f.cast_start, f.id, ("Charge sheet", "Pre-cast checklist")) for f in plan.flasks]
    today = [(at, name, kinds) for at, name, kinds in work if problem.clock.day_of(at) == day]
    for load in plan.loads:
        if problem.clock.day_of(load.start) == day:
            today += [(load.start, load.id, ("Kiln program sheet",)), (load.start, load.flasks[0], ("Pre-cast checklist",))]
    return [(name, kind) for _, name, kinds in sorted(today, key=lambda one: one[0]) for kind in kinds]


async def test_the_page_holds_every_sheet_of_the_day_in_the_order_of_the_work(
    client: httpx.AsyncClient, planned: tuple[Problem, Plan]
) -> None:
    page = (await client.get(f"/print/all/{FIRST_CASTS}")).text
    found = ABOUT.findall(page)
    assert [kind for _, kind in found[:2]] == ["Day sheet", "Metal, investment and charges"]
    assert found[2:] == expected(*planned, FIRST_CASTS)
    ids = re.findall(r'\bid="([^"]+)"', page)
    assert len(ids) == len(set(ids))
    assert page.count("<h1") == 1


async def test_a_day_without_work_says_so_on_its_own_sheets(client: httpx.AsyncClient) -> None:
    page = (await client.get("/print/all/2026-03-01")).text
    assert "Nothing is planned for this day" in page
    assert len(ABOUT.findall(page)) == 2


def text_of(pdf: bytes, folder: Path) -> list[str]:
    """The text of each page."""
    reader = shutil.which("pdftotext")
    if reader is None:
        pytest.skip("no pdftotext on this machine: install the system's poppler-utils package to read what is printed")
    (folder / "made.pdf").write_bytes(pdf)
    said = subprocess.run(
        [reader, "-layout", folder / "made.pdf", "-"], check=True, capture_output=True, text=True, encoding="utf-8"
    )
    return [" ".join(part.split()) for part in said.stdout.split("\f") if part.strip()]


@pytest.fixture
def a_browser() -> None:
    if find_browser("") is None:
        pytest.skip("no Chromium, Chrome or Edge on this machine: install the system's chromium package to make PDFs")


@pytest.mark.usefixtures("a_browser")
async def test_one_pdf_holds_the_papers_of_every_flask_in_order(
    client: httpx.AsyncClient, planned: tuple[Problem, Plan], tmp_path: Path
) -> None:
    answer = await client.get(f"/print/all/{FIRST_CASTS}.pdf", params={"paper": "letter"})
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "application/pdf"
    assert f'filename="castweek-{FIRST_CASTS}.pdf"' in answer.headers["content-disposition"]
    assert re.search(rb"/MediaBox\s*\[\s*0 0 612", answer.content)
    pages = text_of(answer.content, tmp_path)
    assert all("does not replace training" in page and "Plan 1" in page for page in pages)
    heads = [(page.split()[0], kind) for page in pages for kind in KINDS if f" {kind} " in page[:40]]
    once = [head for n, head in enumerate(heads) if n == 0 or heads[n - 1] != head]
    assert once == expected(*planned, FIRST_CASTS)


KINDS = ("Flask ticket", "Charge sheet", "Pre-cast checklist", "Kiln program sheet")


@pytest.mark.usefixtures("a_browser")
async def test_the_week_for_the_wall_is_one_pdf_page_on_its_side(client: httpx.AsyncClient, tmp_path: Path) -> None:
    answer = await client.get("/print/week/2026-03-04.pdf")
    [text] = text_of(answer.content, tmp_path)
    assert "Week 10" in text[:40]
    assert re.search(rb"/MediaBox\s*\[\s*0 0 84[12]", answer.content)


def test_a_document_needs_nothing_else_and_may_run_nothing() -> None:
    html = document("A & B", '<img src="/models/m1/picture.png">', Paper.A4, {"m1": b"png"}.get)
    assert 'src="data:image/png;base64,cG5n"' in html
    assert "<title>A &amp; B</title>" in html
    assert "default-src 'none'" in html
    assert not re.search(r'<script|<link|src="[^d]', html)
    assert "@page { size: A4; }" in html


@pytest.fixture
async def without_browser(settings: Settings) -> AsyncIterator[httpx.AsyncClient]:
    app = create_app(replace(settings, browser="none"))
    transport = httpx.ASGITransport(app=app, raise_app_exceptions=False)
    async with httpx.AsyncClient(transport=transport, base_url="http://localhost:8765") as client:
        yield client
    app.state.runner.shutdown()
    app.state.db.close()


async def test_without_a_browser_the_page_says_how_to_print_the_papers(without_browser: httpx.AsyncClient) -> None:
    answer = await without_browser.get(f"/print/all/{FIRST_CASTS}.pdf")
    assert answer.status_code == 503
    assert "There is no browser on the server" in answer.text
    assert f'href="/print/all/{FIRST_CASTS}"' in answer.text
    assert "Save as PDF" in answer.text


@pytest.fixture
def browser_that(tmp_path: Path) -> Callable[[str], str]:
    """A program in place of a browser; ``made`` is the file where the PDF should be."""
    if sys.platform == "win32":
        pytest.skip("a program written as a script starts on Linux and macOS only")

    def program(does: str) -> str:
        file = tmp_path / "browser"
        find = "made = next(a for a in sys.argv if a.startswith('--print-to-pdf=')).partition('=')[2]"
        file.write_text(f"#!{sys.executable}\nimport sys, time\n{find}\n{does}\n", encoding="utf-8")
        file.chmod(file.stat().st_mode | stat.S_IXUSR)
        return str(file)

    return program


@pytest.mark.parametrize(
    ("does", "says"),
    [
        ("time.sleep(60)", "took longer than 1 s"),
        ("sys.exit(7)", "made no PDF"),
        ("open(made, 'w').write('<html>')", "something else than a PDF"),
    ],
)
def test_a_browser_that_hangs_or_fails_is_ended_and_told(browser_that: Callable[[str], str], does: str, says: str) -> None:
    with pytest.raises(NoPdf, match=says):
        pdf_of("<!doctype html>", browser_that(does), seconds=1)


def test_a_browser_is_looked_for_where_each_system_keeps_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    assert find_browser("", platform="linux") is None
    edge = tmp_path / "Microsoft" / "Edge" / "Application" / "msedge.exe"
    edge.parent.mkdir(parents=True)
    edge.touch(mode=0o755)
    assert find_browser("", platform="win32", environment={"PROGRAMFILES": str(tmp_path)}) == str(edge)
    assert find_browser(str(edge), platform="linux") == str(edge)
    assert find_browser("no-such-browser") is None
