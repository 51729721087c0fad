"""The demo's books have a past that leads to what is on its shelf."""

from __future__ import annotations

from datetime import datetime

from domain.books.accounts import POT, Account, AccountKind, Reason, adjustment
from domain.books.entries import EntryKind
from domain.books.trace import back_from
from domain.units import Mass
from webapp.demo import demo_week, seed_demo
from webapp.store import books
from webapp.store.books_check import broken
from webapp.store.engine import Database
from webapp.store.history import History
from webapp.store.week import load_week

NOW = datetime(2026, 12, 22, 7, 0)
"""Before the holidays, so that days are counted over a closure on both sides."""


def test_the_weeks_before_lead_to_what_is_on_the_shelf_and_hold_all_that_can_happen(empty_db: Database) -> None:
    with empty_db.write() as session:
        seed_demo(session, NOW)
    with empty_db.read() as session:
        assert broken(session) == ()
        assert load_week(session, NOW) == demo_week(NOW.date(), NOW.time())
        kinds = {entry.kind for entry in books.entries(session, newest=None)}
        assert kinds >= set(EntryKind) - {EntryKind.ISSUE, EntryKind.RETURN, EntryKind.INVESTED}
        assert books.balance(session, POT).mass >= Mass.g(235)
        assert books.balance(session, adjustment(Reason.SPILLAGE)).mass == Mass.g("0.6")
        assert books.balance(session, Account(AccountKind.CUSTOMER, "J069")).mass == Mass.g("-24.3") - Mass.g("0.4")
        trace = back_from(Account(AccountKind.JOB, "J074"), History(session))
        assert {step.source.ref for step in trace.steps} >= {"R-P03", "R-P02", "G01"}
        assert trace.whole
