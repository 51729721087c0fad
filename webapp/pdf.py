"""A document as PDF, made by a browser that is on this machine: what prints our pages is what our pages are made for.

The browser gets a file in a folder of its own, with no script, no network and no profile of anybody, a limit of time and
one document at a time. Where no browser is found, or it fails, ``NoPdf`` says so in words for the screen.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterable, Mapping
from contextlib import suppress
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Semaphore

from domain.errors import DomainError
from domain.saying import say
from webapp.log import log

COMMANDS = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "microsoft-edge",
    "microsoft-edge-stable",
    "msedge",
)
PLACES = {
    "darwin": (
        "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
        "/Applications/Chromium.app/Contents/MacOS/Chromium",
        "/Applications/Microsoft Edge.app/Contents/MacOS/Microsoft Edge",
    ),
    "win32": ("Google/Chrome/Application/chrome.exe", "Microsoft/Edge/Application/msedge.exe", "Chromium/Application/chrome.exe"),
}
WINDOWS_FOLDERS = ("PROGRAMFILES", "PROGRAMFILES(X86)", "LOCALAPPDATA")
NONE = "none"
"""Named as the browser where none is to be used."""

FLAGS = (
    "--headless",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-extensions",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--no-default-browser-check",
    "--no-pdf-header-footer",
    "--host-resolver-rules=MAP * ~NOTFOUND",
    "--proxy-server=http://127.0.0.1:9",
    "--proxy-bypass-list=<-loopback>",
)
SECONDS = 60
WAIT_SECONDS = 20
MOST_BYTES = 60_000_000

_one_at_a_time = Semaphore(1)


class NoPdf(DomainError):
    """No PDF was made; the words say why."""


def find_browser(named: str, *, platform: str = sys.platform, environment: Mapping[str, str] = os.environ) -> str | None:
    """The browser that is named by its command or its file, else the first of those known; none where there is none."""
    if named:
        return None if named == NONE else shutil.which(named)
    known = (*COMMANDS, *_places(platform, environment))
    return next((found for one in known if (found := shutil.which(one)) is not None), None)


def _places(platform: str, environment: Mapping[str, str]) -> Iterable[str]:
    if platform != "win32":
        return PLACES.get(platform, ())
    folders = [environment[name] for name in WINDOWS_FOLDERS if environment.get(name)]
    return [str(Path(folder) / place) for folder in folders for place in PLACES["win32"]]


def pdf_of(document: str, named: str = "", *, seconds: float = SECONDS) -> bytes:
    """``document``: HTML that needs nothing else. ``named``: the browser, as the settings name it. Raises ``NoPdf``."""
    browser = find_browser(named)
    if browser is None:
        raise NoPdf(say("There is no browser on the server's machine that could make the PDF (Chromium, Chrome or Edge)."))
    if len(document) > MOST_BYTES:
        raise NoPdf(say("The papers are too many for one PDF."))
    if not _one_at_a_time.acquire(timeout=WAIT_SECONDS):
        raise NoPdf(say("Another PDF is being made just now. Try again in a minute."))
    try:
        # a browser that is on its way out may still write into its profile
        with TemporaryDirectory(prefix="castweek-", ignore_cleanup_errors=True) as folder:
            return _printed(browser, document, Path(folder), seconds)
    finally:
        _one_at_a_time.release()


def _printed(browser: str, document: str, folder: Path, seconds: float) -> bytes:
    source, made = folder / "papers.html", folder / "papers.pdf"
    source.write_text(document, encoding="utf-8")
    command = [browser, *FLAGS, *_as_root(), f"--user-data-dir={folder / 'profile'}", f"--print-to-pdf={made}", source.as_uri()]
    _run(command, folder, seconds)
    if not made.is_file() or made.stat().st_size > MOST_BYTES:
        raise NoPdf(say("The browser on the server's machine made no PDF of the papers."))
    content = made.read_bytes()
    if not content.startswith(b"%PDF-"):
        raise NoPdf(say("The browser on the server's machine made something else than a PDF."))
    return content


def _as_root() -> tuple[str, ...]:
    """Chromium refuses to start as root within its sandbox; the document is ours and runs nothing."""
    return ("--no-sandbox",) if hasattr(os, "geteuid") and os.geteuid() == 0 else ()


def _run(command: list[str], folder: Path, seconds: float) -> None:
    with (folder / "said").open("wb") as said:
        try:
            process = subprocess.Popen(
                command, stdin=subprocess.DEVNULL, stdout=said, stderr=said, cwd=folder, start_new_session=True
            )
        except OSError as error:
            raise NoPdf(say("The browser on the server's machine could not be started.")) from error
        try:
            code = process.wait(seconds)
        except subprocess.TimeoutExpired:
            raise NoPdf(
                say(
                    "The browser on the server's machine took longer than {seconds} s and was stopped.",
                    seconds=format(seconds, ".0f"),
                )
            ) from None
        finally:
            _end(process)
    if code != 0:
        tail = (folder / "said").read_bytes()[-400:].decode(errors="replace")
        log.warning("the browser made no PDF", extra={"facts": {"browser": command[0], "code": code, "said": tail}})


def _end(process: subprocess.Popen[bytes]) -> None:
    """The browser and whatever it started, where the system can tell."""
    with suppress(ProcessLookupError, PermissionError):
        if hasattr(os, "killpg"):
            os.killpg(process.pid, signal.SIGKILL)
        else:
            process.kill()
    process.wait()
