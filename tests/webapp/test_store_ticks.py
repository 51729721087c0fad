"""Ticks of checklists in the database: kept as they were read, never changed, counted once."""

from __future__ import annotations

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError

from domain.safety.points import Pause
from webapp.store import ticks
from webapp.store.engine import Database, Session

MADE_OF = {"the alloy": "Silver 925"}


def tick(session: Session, **changed: object) -> None:
    row: dict[str, object] = {"made_of": MADE_OF, "reading": "586 °C", "who": "Mara", "account": None} | changed
    ticks.tick(session, "F1", Pause.POUR, "heat", "Read the heat", **row)  # type: ignore[arg-type]


def test_a_tick_is_kept_as_it_was_read_and_can_be_taken_back(empty_db: Database) -> None:
    with empty_db.write() as session:
        tick(session, key="a")
        kept = ticks.ticks(session, ["F1", "F2"])["F1"][Pause.POUR]["heat"]
        assert (kept.text, kept.reading, kept.who, kept.made_of) == ("Read the heat", "586 °C", "Mara", MADE_OF)
        assert (kept.second, kept.at.tzinfo is not None) == ("", True)
        assert ticks.seen(session, "a")
        assert not ticks.seen(session, "b")
        assert not ticks.seen(session, "")
        tick(session, second=True, who="Jo", key="b")
        signed = ticks.ticks(session, ["F1"])["F1"][Pause.POUR]["heat"]
        assert (signed.who, signed.second, signed.reading) == ("Mara", "Jo", "586 °C")
        tick(session, ticked=False)
        assert ticks.ticks(session, ["F1"])["F1"][Pause.POUR] == {}
        tick(session, second=True, who="Jo")
        assert ticks.ticks(session, ["F1"])["F1"][Pause.POUR] == {}


@pytest.mark.parametrize("table", ["checklist_tick", "checklist_override"])
@pytest.mark.parametrize(
    "change",
    ["UPDATE {} SET who = 'nobody'", "DELETE FROM {}", "INSERT OR REPLACE INTO {} SELECT * FROM {}", "TRUNCATE {}"],
)
def test_the_database_itself_refuses_to_change_what_was_ticked(empty_db: Database, table: str, change: str) -> None:
    if ("REPLACE" in change and not empty_db.is_sqlite) or ("TRUNCATE" in change and empty_db.is_sqlite):
        return
    with empty_db.write() as session:
        tick(session)
        ticks.override(session, "F1", Pause.POUR, "the gauge is broken", {"heat": "Read"}, made_of=MADE_OF, who="Ann")
    with pytest.raises(DBAPIError, match="append-only"), empty_db.write() as session:
        session.connection().execute(text(change.format(table, table)))


def test_one_key_is_one_row(empty_db: Database) -> None:
    with empty_db.write() as session:
        tick(session, key="a")
    with pytest.raises(DBAPIError), empty_db.write() as session:
        tick(session, key="a")
