"""Makes the README's pictures of the program again, from the demo: ``python tests/support/pictures.py``.

They are small on purpose: the sheet of colours is cut to 48, and a picture above ``MOST_BYTES`` fails the run.
"""

from __future__ import annotations

import io
import shutil
import socket
import tempfile
import threading
import time
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import uvicorn
from PIL import Image
from playwright.sync_api import sync_playwright

from domain.planning.manager import plan_by_hand
from domain.stock.week_charges import week_charges
from domain.week.build import problem_of
from webapp.app import create_app
from webapp.demo import seed_demo
from webapp.settings import Settings
from webapp.store.engine import Database
from webapp.store.migrations import migrate
from webapp.store.week import load_week, save_plan

FOLDER = Path(__file__).resolve().parents[2] / "static" / "pictures"
SEEDED, NOW = datetime(2026, 3, 2, 7, 0), datetime(2026, 3, 2, 11, 10)
"""The demo's Monday morning, and the same day before the first flask is invested."""
PICTURES = {
    "week": ("/week", "#axis", (1280, 860)),
    "today": ("/today", "h1", (1024, 768)),
    "metal": ("/metal", "h1", (1280, 860)),
}
"""By name: the page, what is scrolled to the top, and the size of the screen."""
COLOURS = 48
MOST_BYTES = 150_000


def planned_demo(file: Path) -> str:
    """The demo with its week planned by hand."""
    url = f"sqlite:///{file}"
    db = Database(url)
    migrate(db)
    with db.write() as session:
        seed_demo(session, SEEDED)
    with db.write() as session:
        problem = problem_of(load_week(session, SEEDED))
        plan = plan_by_hand(problem)
        charged = week_charges(problem, plan.flasks)
        save_plan(session, replace(plan, charges=charged.charges, orders=charged.orders), SEEDED)
    db.close()
    return url


def served(settings: Settings) -> tuple[uvicorn.Server, str]:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    server = uvicorn.Server(uvicorn.Config(create_app(settings), port=port, log_level="error"))
    threading.Thread(target=server.run, daemon=True).start()
    while not server.started:
        time.sleep(0.05)
    return server, f"http://127.0.0.1:{port}"


def small(png: bytes) -> bytes:
    """With few colours, which a page of text and drawings does not miss."""
    out = io.BytesIO()
    Image.open(io.BytesIO(png)).convert("RGB").quantize(COLOURS, dither=Image.Dither.NONE).save(out, "PNG", optimize=True)
    return out.getvalue()


def main() -> None:
    FOLDER.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as playwright:
        url = planned_demo(Path(folder) / "demo.sqlite3")
        server, address = served(Settings(database_url=url, log_level="ERROR", demo=True, fixed_now=NOW))
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])
        for name, (page_address, top, (width, height)) in PICTURES.items():
            page = browser.new_page(base_url=address, viewport={"width": width, "height": height}, locale="en-GB")
            page.goto(page_address)
            page.locator(top).first.evaluate("e => { if (e.tagName !== 'H1') e.scrollIntoView(); }")
            picture = small(page.screenshot())
            if len(picture) > MOST_BYTES:
                raise SystemExit(f"{name}: {len(picture)} bytes are more than {MOST_BYTES}")
            (FOLDER / f"{name}.png").write_bytes(picture)
            print(f"{name}: {len(picture)} bytes")
        browser.close()
        server.should_exit = True


if __name__ == "__main__":
    main()
