"""A real server on this machine and a headless Chromium that uses it like a person."""

from __future__ import annotations

import shutil
import socket
import threading
import time
from collections.abc import Callable, Iterator

import pytest
import uvicorn
from databases import Databases
from playwright.sync_api import Browser, ConsoleMessage, Page, sync_playwright

from webapp.app import create_app
from webapp.settings import Settings

FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
]
TABLET = {"width": 1024, "height": 768}
DESK = {"width": 1440, "height": 900}


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if "browser" in item.path.parts:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One for each file: while its driver runs, no other test can have an event loop."""
    executable = shutil.which("chromium") or shutil.which("chromium-browser")
    if executable is None:
        pytest.skip("no Chromium on this machine: install the system's chromium package to run the browser tests")
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=executable, args=FLAGS)
        yield chromium
        chromium.close()


class Server:
    """The app under uvicorn in a thread of its own, on a free port."""

    def __init__(self, settings: Settings) -> None:
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            port = probe.getsockname()[1]
        self.address = f"http://127.0.0.1:{port}"
        self.app = create_app(settings)
        self._uvicorn = uvicorn.Server(uvicorn.Config(self.app, port=port, log_level="error", timeout_graceful_shutdown=2))
        self._thread = threading.Thread(target=self._uvicorn.run)

    def start(self) -> None:
        self._thread.start()
        deadline = time.monotonic() + 20
        while not self._uvicorn.started and time.monotonic() < deadline:
            time.sleep(0.02)
        assert self._uvicorn.started, "the server did not start"

    def stop(self) -> None:
        self._uvicorn.should_exit = True
        self._thread.join(20)
        self.app.state.db.close()


@pytest.fixture(scope="module")
def server(request: pytest.FixtureRequest, databases: Databases, demo_settings: Callable[[str], Settings]) -> Iterator[Server]:
    """The demo's studio with its week planned by hand and its checklists let pass, or what a file names as its
    ``STUDIO``; each test file has its own."""
    url = databases.new(request.getfixturevalue(getattr(request.module, "STUDIO", "checked_demo")))
    running = Server(demo_settings(url))
    running.start()
    yield running
    running.stop()
    databases.drop(url)


@pytest.fixture
def page(browser: Browser, server: Server) -> Iterator[Page]:
    """A page at tablet size whose console must stay free of errors."""
    context = browser.new_context(viewport=TABLET, base_url=server.address, accept_downloads=True)
    page = context.new_page()
    complaints: list[str] = []

    def heard(message: ConsoleMessage) -> None:
        if message.type == "error" and not any(status in message.text for status in ("409", "422")):
            complaints.append(message.text)

    page.on("console", heard)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    yield page
    context.close()
    assert complaints == []
