"""What is wrong with this shop's installation, and what to do about it, in plain words."""

from __future__ import annotations

import json
import os
import shutil
import socket
import ssl
import urllib.error
import urllib.request
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import UTC, datetime, timedelta
from enum import StrEnum
from pathlib import Path

from webapp.auth.certificate import ends
from webapp.settings import Settings
from webapp.store.books_check import broken
from webapp.store.copies import FOLDER, Kind, copies_in, rule
from webapp.store.engine import Database
from webapp.store.migrations import revisions
from webapp.store.soundness import damage, missing_guards, newest_entry
from webapp.store.trouble import Unavailable
from webapp.store.upgrading import current_revision
from webapp.store.week import load_rules

LEAST_FREE = 200_000_000
"""Bytes that must be free beside three times the size of the database, for copies of it."""
OLD_COPY, RENEWED = timedelta(days=3), timedelta(days=30)
A_DAY = timedelta(days=1)


class Verdict(StrEnum):
    """``LOOK``: it works, and somebody should know."""

    WELL = "well"
    LOOK = "look"
    WRONG = "wrong"


@dataclass(frozen=True, slots=True)
class Finding:
    """``todo``: what to do, empty where all is well."""

    about: str
    verdict: Verdict
    says: str
    todo: str = ""


def examine(settings: Settings, certificate: Path | None = None) -> tuple[Finding, ...]:
    """Looks and changes nothing. ``certificate``: the shop's own, in place of a self-made one."""
    return (
        *_database(settings),
        _disk(settings),
        *_permissions(settings),
        *_certificate(certificate or settings.folder / "castweek-certificate.pem", own=certificate is not None),
        _port(settings),
    )


def as_text(findings: tuple[Finding, ...]) -> str:
    lines = []
    for found in findings:
        lines.append(f"{found.verdict.upper():6} {found.about}: {found.says}")
        if found.todo:
            lines.append(f"       What to do: {found.todo}")
    return "\n".join(lines)


def as_json(findings: tuple[Finding, ...]) -> str:
    return json.dumps([asdict(found) for found in findings], indent=2, ensure_ascii=False)


def _well(about: str, says: str) -> Finding:
    return Finding(about, Verdict.WELL, says)


def _database(settings: Settings) -> Iterator[Finding]:
    try:
        db = Database(settings.database_url)
        if db.is_sqlite and not Path(db.address.database or "").is_file():
            todo = "Start Castweek once with: castweek serve. Or bring a copy back with: castweek restore FILE"
            yield Finding("database", Verdict.WRONG, f"there is no file {db.address.database}", todo)
            return
    except Unavailable as error:
        yield Finding("database", Verdict.WRONG, str(error), "Correct CASTWEEK_DATABASE_URL.")
        return
    try:
        yield from _inside(db, settings)
    except Unavailable as error:
        yield Finding(
            "database",
            Verdict.WRONG,
            str(error),
            "Start the database server or free the file; if it is damaged, restore the newest copy.",
        )
    finally:
        db.close()


def _inside(db: Database, settings: Settings) -> Iterator[Finding]:
    revision = current_revision(db)
    if revision and revision not in revisions():
        yield Finding("database", Verdict.WRONG, "it was last used by a newer Castweek", "Install that one again.")
        return
    if revision != revisions()[0]:
        todo = "Start Castweek: it makes a copy and brings the database up to date."
        yield Finding("database", Verdict.LOOK, "it answers and is of an older Castweek", todo)
        return
    yield _well("database", "it answers and is up to date")
    with db.read() as session:
        hurt, guards, books = (
            damage(session, is_sqlite=db.is_sqlite),
            missing_guards(session, is_sqlite=db.is_sqlite),
            broken(session),
        )
        wanted, timezone = rule(session), load_rules(session).timezone
    yield _listed(
        "soundness", hurt, "every page and reference is whole", "Stop Castweek, move the database away and restore the newest copy."
    )
    books_todo = "Make a copy now, change nothing in the books, and compare with an older copy."
    yield _listed("books", books, "every entry balances, and balances rebuilt from the entries are those shown", books_todo)
    guards_todo = "Somebody changed the database by hand. Restore the newest copy, which brings its guards along."
    yield _listed("record", guards, "what was recorded cannot be changed or deleted", guards_todo)
    yield _copies(db, settings, timezone, daily=wanted.daily)
    yield _clock(db, timezone)


def _listed(about: str, wrong: tuple[str, ...], well: str, todo: str) -> Finding:
    if not wrong:
        return _well(about, well)
    more = f" and {len(wrong) - 5} more" if len(wrong) > 5 else ""
    return Finding(about, Verdict.WRONG, "; ".join(wrong[:5]) + more, todo)


def _copies(db: Database, settings: Settings, timezone: str, *, daily: bool) -> Finding:
    folder = settings.folder / FOLDER
    copies = [copy for copy in copies_in(db, folder) if copy.kind in (Kind.DAILY, Kind.HAND)]
    if not copies:
        return Finding("copies", Verdict.LOOK, f"there is none in {folder}", "Make one now with: castweek backup")
    age = settings.now(timezone) - copies[0].made_at
    if age > OLD_COPY:
        todo = "Let Castweek run each day, look into its log, or make one now with: castweek backup"
        return Finding("copies", Verdict.LOOK, f"the newest is {age.days} days old", todo)
    if not daily:
        return Finding("copies", Verdict.LOOK, "daily copies are switched off", "Switch them on under Shop, Copies.")
    return _well("copies", f"the newest is {copies[0].path.name}")


def _clock(db: Database, timezone: str) -> Finding:
    now, newest = datetime.now(UTC).replace(tzinfo=None), newest_entry(db)
    ahead = bool(newest) and datetime.fromisoformat(newest).replace(tzinfo=None) > now + A_DAY
    if ahead or now.timestamp() < Path(__file__).stat().st_mtime - A_DAY.total_seconds():
        what = f"the newest entry of the books, {newest}," if ahead else "the program itself"
        return Finding("clock", Verdict.WRONG, f"{what} is later than this machine's clock", "Set the machine's clock.")
    return _well("clock", f"it is {now:%Y-%m-%d %H:%M} UTC; the shop is in {timezone}")


def _disk(settings: Settings) -> Finding:
    folder = next(place for place in (settings.folder, *settings.folder.parents) if place.is_dir())
    free = shutil.disk_usage(folder).free
    file = Path(settings.database_url.partition(":///")[2])
    needed = LEAST_FREE + 3 * (file.stat().st_size if settings.database_url.startswith("sqlite") and file.is_file() else 0)
    says = f"{free / 1e9:.1f} GB are free in {folder}"
    if free < needed:
        return Finding("disk", Verdict.WRONG, f"only {says}", f"Free at least {needed / 1e9:.1f} GB, or writing may fail.")
    return _well("disk", says)


def _permissions(settings: Settings) -> Iterator[Finding]:
    if os.name != "posix":
        return
    key = settings.folder / "castweek-key.pem"
    if key.is_file() and key.stat().st_mode & 0o077:
        yield Finding("secrets", Verdict.WRONG, f"others on this machine can read {key}", f"Run: chmod 600 {key}")
    if settings.folder.is_dir() and settings.folder.stat().st_mode & 0o077:
        says = f"others on this machine can look into {settings.folder}, where the data and copies are"
        yield Finding("secrets", Verdict.LOOK, says, f"Run: chmod 700 {settings.folder}")
    elif settings.folder.is_dir():
        yield _well("secrets", f"only this user can look into {settings.folder}")


def _certificate(path: Path, *, own: bool) -> Iterator[Finding]:
    if not path.is_file():
        if own:
            yield Finding("certificate", Verdict.WRONG, f"there is no file {path}", "Name the one that --certificate names.")
        return
    try:
        last = ends(path)
    except ValueError:
        yield Finding("certificate", Verdict.WRONG, f"{path} cannot be read as a certificate", "Have it made anew.")
        return
    left = last - datetime.now(UTC)
    todo = "Have it renewed by whoever made it." if own else "Start Castweek with --lan once more: it makes a new one."
    if left < RENEWED:
        verdict = Verdict.WRONG if left < timedelta(0) else Verdict.LOOK
        yield Finding("certificate", verdict, f"it ends on {last:%Y-%m-%d}", todo)
    else:
        yield _well("certificate", f"it holds until {last:%Y-%m-%d}")


def _port(settings: Settings) -> Finding:
    with socket.socket(socket.AF_INET, socket.SOCK_STREAM) as probe:
        probe.settimeout(2)
        if probe.connect_ex(("127.0.0.1", settings.port)) != 0:
            return _well("port", f"{settings.port} is free; Castweek does not run there now")
    answers = [_health(f"{scheme}://127.0.0.1:{settings.port}/health") for scheme in ("http", "https")]
    if True in answers:
        return _well("port", f"Castweek runs on {settings.port} and is healthy")
    if False in answers:
        return Finding(
            "port", Verdict.WRONG, f"Castweek runs on {settings.port} and is not healthy", "Restart it, and look into its log."
        )
    todo = "Stop the other program, or start Castweek with --port and another number."
    return Finding("port", Verdict.WRONG, f"another program answers on {settings.port}", todo)


def _health(address: str) -> bool | None:
    """None where it is not Castweek that answers. The certificate is its own and only asked on this machine."""
    unchecked = ssl.create_default_context()
    unchecked.check_hostname, unchecked.verify_mode = False, ssl.CERT_NONE
    try:
        with urllib.request.urlopen(address, timeout=5, context=unchecked) as answer:
            said = answer.read(200)
    except urllib.error.HTTPError as error:
        said = error.read(200)
        error.close()
    except (OSError, ValueError):
        return None
    return {b'{"ok":true}': True, b'{"ok":false}': False}.get(said)
