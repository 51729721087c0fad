"""The JSON interface under what Schemathesis makes up, for each role on the planned demo: no answer may be a server error
or other than its description says.

    python tests/benchmarks/api.py [requests for each operation] [seed]

Prints the answers by status, and everything that broke a promise. The exit code is 1 where something did.
"""

from __future__ import annotations

import sys
import tempfile
import time
from dataclasses import replace
from datetime import datetime
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "support"))

from fuzzing import fuzz

from domain.planning.manager import plan_by_hand
from domain.stock.week_charges import week_charges
from domain.week.build import problem_of
from webapp.auth.roles import Role
from webapp.demo import seed_demo
from webapp.settings import Settings
from webapp.store.engine import Database
from webapp.store.migrations import migrate
from webapp.store.week import load_week, save_plan

NOW = datetime(2026, 3, 2, 7, 0)


def main(examples: int = 40, seed: int = 1) -> int:
    wrong = 0
    for role in Role:
        with tempfile.TemporaryDirectory() as folder:
            began = time.perf_counter()
            found = fuzz(_demo(Path(folder)), role, examples=examples, seed_of=seed)
        answers = ", ".join(f"{status}: {count}" for status, count in sorted(found.by_status.items()))
        print(f"{role}: {found.asked} requests in {time.perf_counter() - began:.0f} s; {answers}", flush=True)
        for line in dict.fromkeys(found.wrong):
            print(f"  {line[:1500]}", flush=True)
        wrong += len(found.wrong)
    return 1 if wrong else 0


def _demo(folder: Path) -> Settings:
    url = f"sqlite:///{folder / 'demo.sqlite3'}"
    db = Database(url)
    migrate(db)
    with db.write() as session:
        seed_demo(session, NOW)
    with db.write() as session:
        problem = problem_of(load_week(session, NOW))
        plan = plan_by_hand(problem)
        charged = week_charges(problem, plan.flasks)
        save_plan(session, replace(plan, charges=charged.charges, orders=charged.orders), NOW)
    db.close()
    return Settings(database_url=url, log_level="CRITICAL", demo=True, fixed_now=NOW)


if __name__ == "__main__":
    sys.exit(main(*(int(argument) for argument in sys.argv[1:])))
