"""Kills the real server while tablets write to it, again and again, and looks whether anything was lost or doubled.

    python tests/benchmarks/kills.py [KILLS] [DATABASE]

Each tablet marks flasks invested and takes that back, with a new key for each entry. What is not answered
is sent again with the same key until it is. After each kill the record must hold every entry that was
answered exactly once, and at the end every entry that was ever made.
"""

from __future__ import annotations

import os
import random
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from dataclasses import replace as changed
from datetime import datetime
from pathlib import Path

import httpx
from sqlalchemy import select

from domain.planning.manager import plan_by_hand
from domain.week.build import problem_of
from webapp.demo import seed_demo
from webapp.settings import Settings
from webapp.store import plans
from webapp.store.engine import Database
from webapp.store.migrations import migrate
from webapp.store.tables import METADATA
from webapp.store.week import load_week, save_plan

sys.path.append(str(Path(__file__).parents[1] / "support"))
from checked import let_all_pass

NOW = datetime(2026, 3, 2, 7, 0)
TABLETS = 4
PATIENCE_S = 300
SERVER = (
    "import sys, uvicorn; from datetime import datetime; from webapp.app import create_app; from webapp.settings import Settings; "
    "uvicorn.run(create_app(Settings(database_url=sys.argv[1], log_level='CRITICAL', fixed_now=datetime(2026, 3, 2, 7))), "
    "port=int(sys.argv[2]), log_config=None)"
)


@dataclass
class Told:
    """``made``: keys of all entries; ``answered``: those that the server said it has saved; ``again``: entries
    that were sent more than once."""

    made: set[str] = field(default_factory=set)
    answered: set[str] = field(default_factory=set)
    again: int = 0


@dataclass(frozen=True)
class Found:
    """Entries ``lost`` although they were answered, and ``doubled``."""

    kills: int
    entries: int
    again: int
    lost: frozenset[str]
    doubled: frozenset[str]


def prepare(url: str) -> None:
    """The demo's studio with its week planned by hand."""
    db = Database(url)
    migrate(db)
    with db.write() as session:
        seed_demo(session, NOW)
    with db.write() as session:
        plan = plan_by_hand(problem_of(load_week(session, NOW)))
        save_plan(session, changed(plan, charges=(), orders=()), NOW)
    let_all_pass(db, Settings(database_url=url, fixed_now=NOW))
    db.close()


def campaign(url: str, kills: int, seed: int = 1) -> Found:
    """``url``: of a database with a plan."""
    dice, told, stop = random.Random(seed), Told(), threading.Event()
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    names = _flasks(url)
    server = _started(url, port)
    tablets = [
        threading.Thread(target=_tablet, args=(port, names[n::TABLETS], told, stop, f"t{n}"))
        for n in range(min(TABLETS, len(names)))
    ]
    for tablet in tablets:
        tablet.start()
    lost: set[str] = set()
    try:
        for _ in range(kills):
            _wait_for_answers(told)
            time.sleep(dice.uniform(0, 0.4))
            server.send_signal(signal.SIGKILL)
            server.wait()
            answered = set(told.answered)
            lost |= answered - _recorded(url).keys()
            server = _started(url, port)
    finally:
        stop.set()
        for tablet in tablets:
            tablet.join(PATIENCE_S)
        server.kill()
        server.wait()
    recorded = _recorded(url)
    lost |= told.made - recorded.keys()
    doubled = {key for key, count in recorded.items() if count > 1}
    return Found(kills, len(told.made), told.again, frozenset(lost), frozenset(doubled))


def _wait_for_answers(told: Told) -> None:
    """Until each tablet may have had one, so that a slow machine is not killed while it starts."""
    before, deadline = len(told.answered), time.monotonic() + PATIENCE_S
    while len(told.answered) < before + TABLETS and time.monotonic() < deadline:
        time.sleep(0.01)


def _started(url: str, port: int) -> subprocess.Popen[bytes]:
    server = subprocess.Popen([sys.executable, "-c", SERVER, url, str(port)], stderr=subprocess.DEVNULL)
    deadline = time.monotonic() + PATIENCE_S
    while time.monotonic() < deadline:
        try:
            if httpx.get(f"http://127.0.0.1:{port}/alive", timeout=5).is_success:
                return server
        except httpx.TransportError:
            time.sleep(0.05)
    server.kill()
    raise RuntimeError("the server did not start again")


@contextmanager
def running(url: str) -> Iterator[str]:
    """The real server on a database; its address."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    server = _started(url, port)
    try:
        yield f"http://127.0.0.1:{port}"
    finally:
        server.terminate()
        server.wait()


def _flasks(url: str) -> list[str]:
    db = Database(url)
    with db.read() as session:
        stored = plans.current_plan(session)
    db.close()
    assert stored is not None
    return [flask.id for flask in stored.plan.flasks]


def _tablet(port: int, names: list[str], told: Told, stop: threading.Event, tablet: str) -> None:
    """Until it is stopped; the last entry is still seen through."""
    address = f"http://127.0.0.1:{port}"
    count = 0
    while not stop.is_set():
        name, what = names[count // 2 % len(names)], ("done", "undo")[count % 2]
        key = f"{tablet}-{count}"
        told.made.add(f"{key}/{name}")
        _send(address, what, {"flasks": name, "stage": "invested", "key": key}, told)
        told.answered.add(f"{key}/{name}")
        count += 1


def _send(address: str, what: str, form: dict[str, str], told: Told) -> None:
    """Sends the same until it is answered."""
    deadline = time.monotonic() + PATIENCE_S
    while time.monotonic() < deadline:
        try:
            answer = httpx.post(f"{address}/today/{what}", data=form, headers={"Origin": address}, timeout=10)
            if answer.status_code == 303:
                return
            if answer.status_code < 500:
                raise RuntimeError(f"{answer.status_code} for {form}")
        except httpx.TransportError:
            pass
        told.again += 1
        time.sleep(0.05)
    raise RuntimeError(f"never answered: {form}")


def _recorded(url: str) -> Counter[str]:
    """How often the record of the flasks holds each entry, by its key."""
    table = next(t for t in METADATA.sorted_tables if {"flask", "stage", "key"} <= set(t.columns.keys()))
    db = Database(url)
    with db.read() as session:
        found = Counter(key for (key,) in session.connection().execute(select(table.c.key)) if key)
    db.close()
    return found


def main() -> int:
    kills = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    with tempfile.TemporaryDirectory() as folder:
        url = sys.argv[2] if len(sys.argv) > 2 else f"sqlite:///{Path(folder) / 'kills.sqlite3'}"
        os.environ["XDG_DATA_HOME"] = folder
        prepare(url)
        found = campaign(url, kills)
    print(f"{found.kills} kills, {found.entries} entries, sent again {found.again} times")
    print(f"answered and lost, or never recorded: {len(found.lost)}; recorded twice: {len(found.doubled)}")
    return 1 if found.lost or found.doubled else 0


if __name__ == "__main__":
    sys.exit(main())
