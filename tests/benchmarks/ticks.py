"""How long a caster waits for a tick while the planner works: 20 tablets tick points of checklists and take them back
on the real server, over HTTP, first at rest and then while one trial of What if after another is planned: such a plan
changes no flask under them.

    python tests/benchmarks/ticks.py [SECONDS] [DATABASE]
"""

from __future__ import annotations

import os
import random
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from statistics import quantiles

import httpx
from kills import NOW, prepare, running

from domain.safety.gates import GATES
from domain.safety.points import Reading
from webapp.actions.checks import as_read
from webapp.actions.gates import stand_all
from webapp.actions.planning import load_desk
from webapp.settings import Settings
from webapp.store.engine import Database

TABLETS = 20
PAUSE_S = (5, 15)
"""Between two taps of a tablet: about as long as a quick person looks at what a point asks for."""


@dataclass(frozen=True)
class Tap:
    """A tick that can be sent: ``form`` but for its key."""

    address: str
    form: dict[str, str]


def taps_of(url: str) -> Iterator[Tap]:
    """A point without a reading of each checklist of each flask."""
    db, settings = Database(url), Settings(database_url=url, fixed_now=NOW)
    with db.read() as session:
        desk = load_desk(session, settings)
        pauses = dict.fromkeys(pause for found in GATES.values() for pause in found)
        wanted = [(flask.id, pause) for flask in desk.open_plan.flasks for pause in pauses]
        person = desk.problem.shop.people[0].name
        gates = stand_all(session, desk, wanted)
    db.close()
    loads = set()
    for (name, pause), (gate, found) in gates.items():
        state = next((s for s in found.states if s.point.reading is Reading.NONE), None)
        if state is None or (pause, gate.flasks) in loads:
            continue
        loads.add((pause, gate.flasks))
        fields = {"point": state.point.id, "read": as_read(gate, (state,)), "who": person}
        yield Tap(f"/flask/{name}/check/{pause.name.lower()}", fields)


def tablet(address: str, tap: Tap, until: float, number: int, took: list[float]) -> None:
    """Ticks and takes back by turns; adds the milliseconds of each to ``took``."""
    dice = random.Random(number)
    with httpx.Client(base_url=address, headers={"Origin": address}, timeout=60) as client:
        for count in range(10**6):
            time.sleep(dice.uniform(*PAUSE_S))
            if time.monotonic() > until and count % 2 == 0:  # all is open again
                return
            key = f"{number}-{until}-{count}"
            began = time.perf_counter()
            send(client, f"{tap.address}/{('tick', 'back')[count % 2]}", {**tap.form, "key": key})
            took.append((time.perf_counter() - began) * 1000)


def send(client: httpx.Client, address: str, form: dict[str, str]) -> None:
    """As a tablet does: the same again where the server was too busy, until it is saved."""
    for wait in (1, 2, 4, 8, 15):
        answer = client.post(address, data=form)
        if answer.status_code != 503:
            break
        print("BUSY", address)
        time.sleep(wait)
    if answer.status_code != 303:
        print("REFUSED", answer.status_code, address)


def measured(address: str, taps: list[Tap], seconds: float) -> list[float]:
    took: list[float] = []
    until = time.monotonic() + seconds
    threads = [threading.Thread(target=tablet, args=(address, tap, until, n, took)) for n, tap in enumerate(taps)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return took


@contextmanager
def solving(address: str) -> Iterator[None]:
    """A trial is planned, and when it has ended the next."""
    done, counted = threading.Event(), []

    def plan() -> None:
        with httpx.Client(base_url=address, headers={"Origin": address}, timeout=60) as client:
            while not done.is_set():
                client.post("/what-if/try", data={"overtime": f"{2 + len(counted) % 2} h {len(counted) % 50 + 1} min"})
                counted.append(time.monotonic())
                while not done.wait(0.2) and "Stop and look at the best plan" in client.get("/what-if").text:
                    time.sleep(1)
            client.post("/what-if/drop")

    thread = threading.Thread(target=plan)
    thread.start()
    yield
    done.set()
    thread.join()
    print(len(counted), "trials were planned meanwhile")


def tell(what: str, took: list[float]) -> None:
    shares = quantiles(took, n=100)
    print(f"{what}: {len(took)} ticks, p50 {shares[49]:.0f} ms, p95 {shares[94]:.0f} ms, longest {max(took):.0f} ms")


def main() -> None:
    seconds = int(sys.argv[1]) if len(sys.argv) > 1 else 30
    with tempfile.TemporaryDirectory() as folder:
        url = sys.argv[2] if len(sys.argv) > 2 else f"sqlite:///{Path(folder) / 'ticks.sqlite3'}"
        os.environ["XDG_DATA_HOME"] = folder
        prepare(url)
        taps = list(islice(taps_of(url), TABLETS))
        with running(url) as address:
            tell("at rest", measured(address, taps, seconds))
            with solving(address):
                tell("during a solve", measured(address, taps, seconds))


if __name__ == "__main__":
    main()
