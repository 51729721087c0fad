"""How long people wait for a page, and what it asks of the database.

    python tests/benchmarks/pages.py [SECONDS] [DATABASE]

The standard set *workshop* (200 jobs) with its week planned by hand. First each page is read alone, right after a
change of the data so that nothing is remembered, and again; its queries and its compressed size are counted. Then
twenty people at once read pages of the real server over HTTP, each a page every few seconds, while a pin is changed
twice a minute. Exits with 1 where a page is larger or asks more than it may.
"""

from __future__ import annotations

import asyncio
import gzip
import os
import random
import sys
import tempfile
import threading
import time
from collections import defaultdict
from dataclasses import dataclass, replace
from pathlib import Path
from statistics import median, quantiles
from typing import Any

import httpx
import sets
from kills import NOW, running
from sqlalchemy import event, text

from domain.planning.manager import plan_by_hand
from domain.stock.week_charges import week_charges
from domain.week.build import problem_of
from webapp.app import create_app
from webapp.settings import Settings
from webapp.store import flasks
from webapp.store.engine import Database
from webapp.store.migrations import migrate
from webapp.store.week import load_week, save_plan, save_week

SEED = 0
PEOPLE = 20
PAUSE_S = (2.0, 6.0)
"""between two pages of one person"""
LARGEST, QUERIES = 60_000, 15
"""compressed bytes of a page, and what it may ask of the database while the data stay"""


@dataclass(frozen=True)
class Read:
    """A page read alone, right after a change of the data and again: queries and milliseconds of both."""

    size: int
    queries: tuple[int, int]
    took: tuple[float, float]


def prepare(url: str) -> dict[str, str]:
    """The set in the database; the pages that people read, by name."""
    db = Database(url)
    migrate(db)
    with db.write() as session:
        save_week(session, sets.week("workshop", SEED))
    with db.write() as session:
        problem = problem_of(load_week(session, NOW))
        plan = plan_by_hand(problem)
        charged = week_charges(problem, plan.flasks)
        save_plan(session, replace(plan, charges=charged.charges, orders=charged.orders), NOW)
    with db.read() as session:
        first = load_week(session, NOW).previous
    db.close()
    assert first is not None
    flask, job, day = first.flasks[0].id, next(iter(first.flasks[0].contents)), "2026-03-03"
    return {
        "week": "/week",
        "flask": f"/flask/{flask}",
        "what if": "/what-if",
        "today": "/today",
        "a casting day": f"/today?day={day}",
        "metal": "/metal",
        "metal to order": "/metal/order",
        "metal that comes back": "/metal/back",
        "metal lost": "/metal/loss",
        "the charges of a flask": f"/metal/charge/{flask}",
        "the metal of a flask": f"/flask/{flask}/metal",
        "the books": "/books",
        "what the record says": "/learning",
        "jobs": "/jobs",
        "a job": f"/jobs/{job}",
        "shop": "/shop",
        "alloys": "/shop/alloys",
        "checklists": "/shop/checklists",
        "people and tablets": "/people",
        "the board": "/board",
        "a flask on the floor": f"/flask/{flask}/floor",
        "a checklist": f"/flask/{flask}/check/kiln",
        "the record of a flask": f"/flask/{flask}/record",
        "consumables": "/metal/consumables",
        "words of the trade": "/help",
        "ticket": f"/print/flask/{flask}/ticket",
        "day sheet": f"/print/day/{day}",
    }


async def alone(url: str, pages: dict[str, str]) -> dict[str, Read]:
    db = Database(url)
    app = create_app(Settings(database_url=url, log_level="ERROR", fixed_now=NOW))
    queries = 0

    def count(_connection: Any, _cursor: Any, statement: str, *_: Any) -> None:
        nonlocal queries
        queries += statement.lstrip().startswith("SELECT")

    event.listen(app.state.db.engine, "before_cursor_execute", count)
    read = {}
    async with httpx.AsyncClient(transport=httpx.ASGITransport(app=app), base_url="http://localhost", timeout=60) as client:
        for name, address in pages.items():
            asked: list[list[int]] = [[], []]
            took: list[list[float]] = [[], []]
            for _ in range(5):
                with db.write() as session:
                    session.connection().execute(text("UPDATE job SET quantity = quantity"))
                for again in range(2):
                    queries, began = 0, time.perf_counter()
                    answer = await client.get(address)
                    took[again].append((time.perf_counter() - began) * 1000)
                    asked[again].append(queries)
                    assert answer.status_code == 200, (address, answer.status_code)
            size = len(gzip.compress(answer.content))
            read[name] = Read(size, (max(asked[0]), max(asked[1])), (median(took[0]), median(took[1])))
    app.state.runner.shutdown()
    app.state.db.close()
    db.close()
    return read


def person(address: str, pages: dict[str, str], until: float, number: int, took: dict[str, list[float]]) -> None:
    dice = random.Random(number)
    time.sleep(dice.uniform(0, PAUSE_S[1]))
    with httpx.Client(base_url=address, timeout=60) as client:
        while time.monotonic() < until:
            name = dice.choice(list(pages))
            began = time.perf_counter()
            answer = client.get(pages[name])
            took[name].append((time.perf_counter() - began) * 1000)
            if answer.status_code != 200:
                print("REFUSED", answer.status_code, pages[name])
            time.sleep(dice.uniform(*PAUSE_S))


def changing(url: str, until: float) -> None:
    """A pin, taken out and put in: every page after it is made anew."""
    db = Database(url)
    with db.read() as session:
        plan = load_week(session, NOW).previous
    assert plan is not None
    while time.monotonic() < until:
        time.sleep(30)
        with db.write() as session:
            flasks.unpin_all(session)
            flasks.pin(session, plan.flasks[0].id, "while pages are read")
    db.close()


def together(url: str, address: str, pages: dict[str, str], seconds: float) -> dict[str, list[float]]:
    took: dict[str, list[float]] = defaultdict(list)
    until = time.monotonic() + seconds
    threads = [threading.Thread(target=person, args=(address, pages, until, n, took)) for n in range(PEOPLE)]
    threads.append(threading.Thread(target=changing, args=(url, until)))
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return took


def main() -> None:
    seconds = int(sys.argv[1]) if len(sys.argv) > 1 else 120
    with tempfile.TemporaryDirectory() as folder:
        url = sys.argv[2] if len(sys.argv) > 2 else f"sqlite:///{Path(folder) / 'pages.sqlite3'}"
        os.environ["XDG_DATA_HOME"] = folder
        pages = prepare(url)
        read = asyncio.run(alone(url, pages))
        with running(url) as address:
            for page in pages.values():
                httpx.get(f"{address}{page}", timeout=60)
            took = together(url, address, pages, seconds)
    print("| page | kB | queries after a change, again | alone after a change, again, ms | twenty people, p50, longest, ms |")
    print("| --- | --- | --- | --- | --- |")
    for name, one in read.items():
        many = took[name] or [0.0]
        print(
            f"| {name} | {one.size / 1000:.0f} | {one.queries[0]}, {one.queries[1]} "
            f"| {one.took[0]:.0f}, {one.took[1]:.0f} | {median(many):.0f}, {max(many):.0f} |"
        )
    everything = quantiles([t for times in took.values() for t in times], n=100)
    count = sum(map(len, took.values()))
    print(f"{PEOPLE} people, {count} pages: p50 {everything[49]:.0f} ms, p95 {everything[94]:.0f} ms")
    sys.exit(any(one.queries[1] > QUERIES or one.size > LARGEST for one in read.values()))


if __name__ == "__main__":
    main()
