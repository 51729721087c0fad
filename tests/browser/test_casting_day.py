"""A casting day as it is lived: a desk and an enrolled tablet, one flask from tree to returns, the network gone twice, the
server killed once. In the end the record, the books and the screens agree."""

from __future__ import annotations

import re
import signal
import socket
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import httpx
import pytest
from databases import Databases
from playwright.sync_api import Browser, Locator, Page, expect

from domain.books.accounts import Account, AccountKind
from domain.books.entries import WEIGHED, EntryKind
from domain.floor.stages import Stage
from domain.safety.points import Pause
from domain.units import Mass
from webapp.store import books, floor, plans, ticks
from webapp.store.books_check import broken
from webapp.store.engine import Database

STARTS = """
import sys, uvicorn
from datetime import datetime
from webapp.app import create_app
from webapp.settings import Settings
app = create_app(Settings(database_url=sys.argv[1], port=int(sys.argv[2]), log_level="CRITICAL", sign_in=True,
                          fixed_now=datetime(2026, 3, 2, 7)))
print("code", app.state.first_code, flush=True)
uvicorn.run(app, port=int(sys.argv[2]), log_config=None)
"""
PATIENCE_S = 60
DOUBLE_TAP_MS = 800
"""Two taps that are nearer to each other are taken for one."""
DESK, TABLET = {"width": 1440, "height": 900}, {"width": 800, "height": 1280}
PASSWORD, PIN = "a kiln full of rings", "4711"
STAGES = [
    Stage.INVESTED,
    Stage.LOADED,
    Stage.STARTED,
    Stage.CAST,
    Stage.QUENCHED,
    Stage.KNOCKED_OUT,
    Stage.LOOKED_AT,
]
STEPS = ("tree", *STAGES, "charge", "castings and returns", *Pause)
"""of the way of a flask, as the tablet lists them"""


class Process:
    """The real server on one address, which can be killed and started again."""

    def __init__(self, url: str) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.url, self.address = url, f"http://127.0.0.1:{self.port}"
        self.start()

    def start(self) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "-c", STARTS, self.url, str(self.port)], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
        )
        assert self.process.stdout is not None
        self.code = self.process.stdout.readline().split()[-1]
        deadline = time.monotonic() + PATIENCE_S
        while time.monotonic() < deadline:
            try:
                if httpx.get(f"{self.address}/alive", timeout=5).is_success:
                    return
            except httpx.TransportError:
                time.sleep(0.05)
        raise RuntimeError("the server did not start")

    def kill(self) -> None:
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()
        if self.process.stdout:
            self.process.stdout.close()


@pytest.fixture
def shop(databases: Databases, planned_demo: Any) -> Iterator[Process]:
    url = databases.new(planned_demo)
    running = Process(url)
    yield running
    running.kill()
    databases.drop(url)


@contextmanager
def window(browser: Browser, shop: Process, size: Any) -> Iterator[Page]:
    context = browser.new_context(viewport=size, base_url=shop.address)
    page = context.new_page()
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    yield page
    context.close()
    assert errors == []


def signs_in(desk: Page, code: str) -> None:
    """The first owner with the server's code, and a caster with a PIN."""
    desk.goto("/sign-in")
    desk.get_by_label("Code that the server printed").fill(code)
    desk.get_by_label("Your name").fill("Mira")
    desk.get_by_label("Password").fill(PASSWORD)
    desk.get_by_role("button", name="Make the owner's account").click()
    desk.goto("/people")
    desk.get_by_label("Name", exact=True).fill("Tamsin")
    desk.get_by_label("PIN", exact=True).fill(PIN)
    desk.get_by_role("button", name="Make the account").click()
    expect(desk.locator("#main")).to_contain_text("Tamsin")


def enrols(tablet: Page) -> None:
    """The owner enrols the tablet on it, then the caster takes over."""
    tablet.goto("/sign-in")
    tablet.get_by_label("Name").fill("Mira")
    tablet.get_by_label("Password").fill(PASSWORD)
    tablet.get_by_role("button", name="Sign in").click()
    tablet.goto("/people")
    tablet.get_by_label("Enrol this device as").fill("Bench 1")
    tablet.get_by_role("button", name="Enrol this device").click()
    tablet.goto("/switch")
    tablet.get_by_label("Tamsin").check()
    tablet.get_by_label("PIN").fill(PIN)
    tablet.get_by_role("button", name="Start").click()
    expect(tablet).to_have_url(re.compile("/today"))


def saved(tablet: Page) -> None:
    expect(tablet.locator("#outbox")).to_contain_text("✓ saved", timeout=40_000)
    expect(tablet.locator("#outbox")).not_to_contain_text("NOT SAVED")


def as_hinted(field: Locator) -> str:
    """The first figure of the hint below a field: what is planned, or usual."""
    hints = field.locator("xpath=ancestor::div[contains(@class, 'field')][1]").locator(".hint").all_inner_texts()
    found = re.search(r"[0-9][0-9,]*(?:\.[0-9]+)?", hints[0]) if hints and "empty" not in hints[0] else None
    return found.group().replace(",", "") if found else ""


def tick(tablet: Page) -> None:
    """The point that is shown large: its reading and its tick, or the owner's signature."""
    point = tablet.locator(".check-now, .check-sign").first
    name, signs = point.get_attribute("id"), point.locator("[name=second]").count()
    if point.locator("[name=reading]").count():
        point.locator("[name=reading]").fill(as_hinted(point.locator("[name=reading]")) or "1")
    if signs:
        point.locator("[name=second]").select_option(label="Mira")
        point.locator("[name=secret]").fill(PASSWORD)
    tablet.wait_for_timeout(DOUBLE_TAP_MS)
    point.locator("button.tick").click()
    expect(tablet.locator(f"#{name}.check-done{'' if signs else f', #{name}.check-sign'}")).to_have_count(1, timeout=20_000)


def checks(tablet: Page, flask: str, pause: str) -> None:
    """Ticks all that is open at a pause."""
    tablet.goto(f"/flask/{flask}/check/{pause}")
    for _ in range(20):
        if not tablet.locator(".check-now, .check-sign").count():
            break
        tick(tablet)
    expect(tablet.locator(".check-free")).to_contain_text("Nothing holds the work back")


def lets_pass(desk: Page, flask: str, pause: str) -> None:
    """The owner, at the desk, with a reason in writing."""
    desk.goto(f"/flask/{flask}/check/{pause}")
    desk.get_by_text("Go on without it").click()
    desk.get_by_label("Why, in your words").fill("ticked on the paper sheet, signed by both")
    desk.get_by_role("button", name="Let the work go on").click()
    expect(desk.locator(".check-free")).to_contain_text("Nothing holds the work back", timeout=20_000)


def filled(tablet: Page, address: str) -> None:
    """A form of the floor, every field as its hint says."""
    tablet.goto(address)
    for field in tablet.locator("main form.fields input:not([type=hidden]), main form.fields select").all():
        if field.get_attribute("type") == "checkbox":
            tablet.locator(f"label[for={field.get_attribute('id')}]").click()
        elif field.evaluate("one => one.tagName") == "SELECT":
            hint = field.locator("xpath=ancestor::div[contains(@class, 'field')][1]").locator(".hint").all_inner_texts()
            planned = hint[0].removeprefix("planned: ") if hint and hint[0].startswith("planned: ") else ""
            field.select_option(label=planned) if planned else field.select_option(index=1)
        elif not field.input_value():
            field.fill(as_hinted(field))


def writes(tablet: Page, name: str = "Write it down") -> None:
    tablet.locator("main").get_by_role("button", name=name).first.click()


def goes_on(tablet: Page, flask: str) -> None:
    """Written down, with what the server asks about: in this test the hours between two steps do not pass."""
    asked = tablet.get_by_role("button", name="It is so: write it down")
    expect(asked.or_(tablet.locator("ol.way"))).to_be_visible(timeout=40_000)
    if asked.count():
        asked.click()
    expect(tablet).to_have_url(re.compile(f"/flask/{flask}/floor$"), timeout=40_000)
    expect(tablet.locator("#outbox")).not_to_contain_text("NOT SAVED")


def records(tablet: Page, flask: str, step: Stage) -> None:
    filled(tablet, f"/flask/{flask}/floor/{step.name.lower()}")
    writes(tablet)
    goes_on(tablet, flask)


def weighs(tablet: Page, address: str, values: dict[str, str], said: str, button: str = "Write it down") -> None:
    tablet.goto(address)
    for name, value in values.items():
        tablet.locator(f"[name='{name}']").fill(value)
    writes(tablet, button)
    expect(tablet.locator("#outbox")).to_contain_text(said, timeout=20_000)
    tablet.wait_for_load_state()


@contextmanager
def without_network(tablet: Page) -> Iterator[None]:
    tablet.context.set_offline(True)
    yield
    expect(tablet.locator("#outbox")).to_contain_text("NOT SAVED: trying again")
    tablet.context.set_offline(False)


@contextmanager
def killed(shop: Process, tablet: Page) -> Iterator[None]:
    """The server dies in the middle, and another starts on the same data."""
    shop.kill()
    yield
    expect(tablet.locator("#outbox")).to_contain_text("NOT SAVED: trying again")
    shop.start()


def agree(db: Database, flask: str, job: str, count: int) -> None:
    """Each stage, tick and weighing once, and nothing left in the crucible."""
    with db.read() as session:
        happened = floor.everything(session, flask)
        ticked = Counter(row.point for row in ticks.rows(session, [flask]) if not row.second)
        weighed = books.entries(session, flask=flask, newest=None)
        melt = books.balance(session, Account(AccountKind.MELT, flask))
        castings = books.balance(session, Account(AccountKind.JOB, job))
        lost = books.balance(session, Account(AccountKind.LOSS, flask))
        assert broken(session) == ()
    assert [one.stage for one in happened] == STAGES
    assert sum(one.pieces.get(job, 0) for one in happened if one.stage is Stage.LOOKED_AT) == count
    assert len(ticked) > 10
    assert set(ticked.values()) == {1}
    assert [entry.kind for entry in reversed(weighed)] == [EntryKind.INVESTED, EntryKind.CHARGE, EntryKind.CAST, EntryKind.SHELVED]
    charge = sum(p.content.mass.base for p in weighed[2].postings if p.account.kind is AccountKind.MELT)
    assert (melt.mass, castings.mass) == (Mass.of(0, "g"), Mass.of(120, "g"))
    assert lost.mass.base == charge - Mass.of("151.4", "g").base


def test_a_flask_goes_from_tree_to_returns_and_all_agree(browser: Browser, shop: Process) -> None:
    db = Database(shop.url)
    with db.read() as session:
        stored = plans.current_plan(session)
        assert stored is not None
        planned = min(stored.plan.flasks, key=lambda one: one.invest_start)
    flask, ((job, count),) = planned.id, planned.rings[0].pieces
    with window(browser, shop, DESK) as desk, window(browser, shop, TABLET) as tablet:
        signs_in(desk, shop.code)
        desk.goto("/today")
        enrols(tablet)
        weighs(tablet, f"/flask/{flask}/tree", {"gross": "61.2", "base": "49.6"}, "is weighed")

        tablet.goto(f"/flask/{flask}/check/invest")
        with without_network(tablet):
            tablet.locator(".check-now button.tick").click()
        saved(tablet)
        expect(tablet.locator(".check-done")).to_have_count(1, timeout=20_000)
        checks(tablet, flask, "invest")
        records(tablet, flask, Stage.INVESTED)
        lets_pass(desk, flask, "kiln")
        records(tablet, flask, Stage.LOADED)
        records(tablet, flask, Stage.STARTED)
        weighs(tablet, f"/flask/{flask}/metal", {}, "is written down", "Write the charge down")
        lets_pass(desk, flask, "melt")
        checks(tablet, flask, "pour")

        filled(tablet, f"/flask/{flask}/floor/cast")
        with without_network(tablet):
            writes(tablet)
        goes_on(tablet, flask)
        lets_pass(desk, flask, "quench")
        records(tablet, flask, Stage.QUENCHED)

        filled(tablet, f"/flask/{flask}/floor/knocked_out")
        with killed(shop, tablet):
            writes(tablet)
        goes_on(tablet, flask)

        weighs(tablet, f"/flask/{flask}/metal", {f"job.{job}": "120.0", "back": "31.5"}, "written down", "Write down what came out")
        weighs(tablet, f"/flask/{flask}/metal", {"clean": "31.4"}, "back on the shelf", "Back on the shelf")
        tablet.goto(f"/flask/{flask}/pieces")
        tablet.locator("select[name=outcome]").select_option(label="passed")
        writes(tablet)
        saved(tablet)

        tablet.goto(f"/flask/{flask}/floor")
        assert tablet.locator(".way-step").count() == tablet.locator(".way-done").count() == len(STEPS)
        desk.goto(f"/flask/{flask}/record")
        told = desk.locator("main").inner_text()
    agree(db, flask, job, count)
    for words in (*map(str, STAGES), *(WEIGHED[kind] for kind in (EntryKind.CHARGE, EntryKind.CAST, EntryKind.SHELVED))):
        assert told.count(f" {words}\n") == 1, words
    db.close()
