"""Five years of a busy shop in the books: how long the metal page and the charges of a week take.

    python tests/benchmarks/books.py [DATABASE] [casts] [rows]

The demo's studio with its week planned by hand, and before it so many casts (25,000 flasks, 100,000 jobs) with
their entries, 1,000,000 postings in all, written in bulk. Without an address SQLite is used and thrown away; a
database that is named is filled once and measured again the next time. Prints seconds (the middle of five, each
after a change of the data), of which so many of this process's processor, and the statements that each page asks
of the database.
"""

from __future__ import annotations

import asyncio
import json
import statistics
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
from sqlalchemy import Connection, event, text

from domain.planning.manager import plan_by_hand
from domain.shop.lots import Lot, MetalKind
from domain.stock.week_charges import week_charges
from domain.units import Mass, Share
from domain.week.build import problem_of
from webapp.app import create_app
from webapp.demo import seed_demo
from webapp.settings import Settings
from webapp.store import nouns, stock
from webapp.store.books_check import broken
from webapp.store.engine import Database
from webapp.store.migrations import migrate
from webapp.store.stock import Happening
from webapp.store.week import load_week, save_plan

NOW = datetime(2026, 3, 2, 7, 0)
CASTS, POSTINGS = 25_000, 1_000_000
JOBS = 4
"""in each flask"""
SHARES = {"Ag": 925, "Cu": 75}
"""permille; all history is of one alloy, which makes its accounts as long as they can be"""
BATCH = 20_000
COMPOSITION = {e: Share.permille(share) for e, share in SHARES.items()}
OLD = Lot(
    id="OLD", name="Grain of all the years", kind=MetalKind.GRAIN, composition=COMPOSITION, mass=Mass.g(1), alloy="silver-925"
)


def _elements(mass: int) -> str:
    return json.dumps({e: mass * 1000 * share for e, share in SHARES.items()})


def _moves(cast: int, lot: str) -> Iterator[tuple[str, dict[tuple[str, str], int]]]:
    """The entries of one flask: metal in, charged, weighed out, cleaned, the returns to the refiner."""
    flask = f"H{cast:06d}"
    jobs = {("job", f"H{cast:06d}-{n}"): 12_000 for n in range(JOBS)}
    yield "received", {("supplier", "old"): -80_000, ("lot", lot): 80_000}
    yield "charged", {("lot", lot): -80_000, ("melt", flask): 80_000}
    yield "cast", {("melt", flask): -80_000, **jobs, ("returns", flask): 31_500, ("loss", flask): 500}
    yield "to the refiner", {("returns", flask): -31_500, ("refiner", "pot"): 31_500}


class Bulk:
    """Entries and postings in the order in which they are made, written in batches past the app."""

    def __init__(self, connection: Connection) -> None:
        self.connection = connection
        self.entry: int = connection.execute(text("SELECT COALESCE(MAX(id), 0) FROM ledger_entry")).scalar_one()
        self.sums: defaultdict[tuple[str, str], int] = defaultdict(int)
        self.entries: list[tuple[Any, ...]] = []
        self.rows: list[tuple[Any, ...]] = []
        self.written = 0

    def write(self, kind: str, move: dict[tuple[str, str], int], flask: str | None, at: datetime) -> None:
        self.entry += 1
        self.written += len(move)
        self.entries.append((self.entry, str(at), kind, flask, "silver-925", "", "", None, None))
        for line, ((account, ref), mass) in enumerate(move.items(), 1):
            self.rows.append((self.entry, line, account, ref, mass, _elements(mass)))
            self.sums[account, ref] += mass
        if len(self.entries) >= BATCH:
            self.flush()

    def flush(self) -> None:
        self._put("ledger_entry", ENTRY, self.entries)
        self._put("ledger_posting", POSTING, self.rows)
        self.entries, self.rows = [], []

    def _put(self, table: str, columns: tuple[str, ...], rows: list[tuple[Any, ...]]) -> None:
        names = ", ".join(f'"{name}"' for name in columns)
        cursor = self.connection.connection.cursor()
        if self.connection.dialect.name == "sqlite":
            cursor.executemany(f"INSERT INTO {table} ({names}) VALUES ({', '.join('?' for _ in columns)})", rows)
            return
        with cursor.copy(f"COPY {table} ({names}) FROM STDIN") as copy:
            for row in rows:
                copy.write_row(row)

    def close(self) -> None:
        """The balances that the postings leave, on top of those that were there."""
        self.flush()
        there = {
            (account, ref): (mass, json.loads(elements))
            for account, ref, mass, elements in self.connection.execute(
                text("SELECT account, ref, mass, elements FROM ledger_balance")
            )
        }
        balances = [
            (account, ref, "", *_balance(mass, *there.get((account, ref), (0, {})))) for (account, ref), mass in self.sums.items()
        ]
        old = [{"account": a, "ref": r} for a, r in self.sums.keys() & there.keys()]
        if old:
            self.connection.execute(text("DELETE FROM ledger_balance WHERE account = :account AND ref = :ref"), old)
        self._put("ledger_balance", BALANCE, balances)
        self.connection.execute(
            text("UPDATE lot SET mass = (SELECT mass FROM ledger_balance WHERE account = 'lot' AND ref = 'OLD') WHERE id = 'OLD'")
        )


ENTRY = ("id", "at", "kind", "flask", "alloy", "who", "note", "key", "reverses")
POSTING = ("entry", "line", "account", "ref", "mass", "elements")
BALANCE = ("account", "ref", "owner", "mass", "elements")


def _balance(more: int, mass: int, elements: dict[str, int]) -> tuple[int, str]:
    """What an account holds that held ``mass`` before."""
    sums = {e: elements.get(e, 0) + more * 1000 * SHARES.get(e, 0) for e in elements.keys() | SHARES.keys()}
    return mass + more, json.dumps({e: amount for e, amount in sums.items() if amount})


def seed_history(db: Database, casts: int, postings: int) -> int:
    """Writes the history in bulk and brings the balances up to date; returns how many postings it has."""
    began = NOW - timedelta(days=5 * 365)
    with db.write() as session:
        nouns.add(session, OLD)
    with db.write() as session:
        bulk = Bulk(session.connection())
        for cast in range(casts):
            at = began + timedelta(minutes=cast * 5 * 365 * 24 * 60 // max(1, casts))
            for kind, move in _moves(cast, OLD.id):
                bulk.write(kind, move, f"H{cast:06d}", at)
        sign = 1
        while bulk.written < postings:  # counts of the shelf: a little less, a little more
            sign = -sign
            move = {("lot", OLD.id): 10 * sign, ("adjustment", "weighing"): -10 * sign}
            bulk.write("counted", move, None, began + timedelta(minutes=bulk.written * 5 * 365 * 24 * 60 // postings))
        bulk.close()
        if not db.is_sqlite:
            last = {"last": bulk.entry}
            session.connection().execute(text("SELECT setval(pg_get_serial_sequence('ledger_entry', 'id'), :last)"), last)
    if not db.is_sqlite:
        with db.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            connection.execute(text("ANALYZE"))
    return bulk.written


def planned(db: Database) -> None:
    with db.write() as session:
        seed_demo(session, NOW)
    with db.write() as session:
        problem = problem_of(load_week(session, NOW))
        plan = plan_by_hand(problem)
        charged = week_charges(problem, plan.flasks)
        save_plan(session, replace(plan, charges=charged.charges, orders=charged.orders), NOW)


async def pages(db: Database, url: str, addresses: tuple[str, ...]) -> list[str]:
    """For each address its seconds, the middle of five, and how many statements it asks."""
    app = create_app(Settings(database_url=url, log_level="ERROR", demo=True, fixed_now=NOW))
    statements = 0

    def count(*_: Any) -> None:
        nonlocal statements
        statements += 1

    event.listen(app.state.db.engine, "before_cursor_execute", count)
    lines = []
    transport = httpx.ASGITransport(app=app)
    async with httpx.AsyncClient(transport=transport, base_url="http://localhost") as client:
        for address in addresses:
            times, worked = [], []
            for _ in range(5):
                # a change in between, so that nothing is remembered
                with db.write() as session:
                    session.connection().execute(text("UPDATE flask_pin SET reason = reason"))
                    stock.change_lot(session, OLD.id, Happening.RECEIPT, Mass(1))
                statements, began, cpu = 0, time.perf_counter(), time.process_time()
                answer = await client.get(address)
                times.append(time.perf_counter() - began)
                worked.append(time.process_time() - cpu)
                assert answer.status_code == 200, (address, answer.status_code)
            lines.append(
                f"{address}: {statistics.median(times) * 1000:.0f} ms (processor {statistics.median(worked) * 1000:.0f} ms), "
                f"{statements} statements, {len(answer.content) // 1000} kB"
            )
    app.state.runner.shutdown()
    app.state.db.close()
    return lines


def charges_of_the_week(db: Database) -> tuple[float, float]:
    """Seconds to load the week and to weigh out all its charges, the middle of five."""
    times = []
    for _ in range(5):
        began = time.perf_counter()
        with db.read() as session:
            problem = problem_of(load_week(session, NOW))
        loaded = time.perf_counter()
        assert problem.previous is not None
        week_charges(problem, problem.previous.flasks)
        times.append((loaded - began, time.perf_counter() - loaded))
    return statistics.median(t for t, _ in times), statistics.median(t for _, t in times)


ADDRESSES = ("/metal", "/books", "/books/account/lot/R01", "/books/where/back/job/J074", "/books/where/back/job/H000100-1", "/jobs")


def fill(db: Database, casts: int, postings: int) -> None:
    planned(db)
    began = time.perf_counter()
    written = seed_history(db, casts, postings)
    said = f"{written} postings of {casts} casts and {casts * JOBS} jobs written"
    print(f"{said} in {time.perf_counter() - began:.0f} s", flush=True)


def main(url: str | None, casts: int, postings: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        url = url or f"sqlite:///{Path(folder) / 'books.sqlite3'}"
        db = Database(url)
        migrate(db)
        with db.read() as session:
            filled = nouns.find(session, Lot, OLD.id) is not None
        if not filled:
            fill(db, casts, postings)
        began = time.perf_counter()
        with db.read() as session:
            wrong = broken(session)
        print(f"the books hold: {not wrong}, {time.perf_counter() - began:.0f} s", flush=True)
        print("\n".join(asyncio.run(pages(db, url, ADDRESSES))), flush=True)
        loaded, charged = charges_of_the_week(db)
        print(f"charges of the week: {loaded:.2f} s to load it, {charged:.2f} s to weigh them out")
        db.close()
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    named = sys.argv[1] if len(sys.argv) > 1 and ":" in sys.argv[1] else None
    numbers = [int(text) for text in sys.argv[1:] if text.isdigit()]
    main(named, *(numbers + [CASTS, POSTINGS][len(numbers) :]))
