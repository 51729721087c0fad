"""What was worked out is remembered, for readers and writers, while the data stay that it was made of, and no longer."""

from __future__ import annotations

import re
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager, suppress
from typing import Any

import pytest
from sqlalchemy import event, text

from domain.errors import InvalidValue
from domain.safety.points import Pause
from domain.shop.jobs import Job
from domain.shop.shop import ShopRules
from webapp.actions import metal, planning
from webapp.actions.planning import Desk, load_desk
from webapp.settings import Settings
from webapp.store import flasks, nouns, plans, ticks
from webapp.store.engine import Database, Session
from webapp.store.memory import recalled, remember
from webapp.store.soundness import missing_guards
from webapp.store.tables import METADATA, RAISING
from webapp.store.trouble import again

HORIZON = text("UPDATE shop_rules SET horizon_days = horizon_days + 1")


@pytest.fixture
def read_desk(db: Database, settings: Settings) -> Callable[[], Desk]:
    def read() -> Desk:
        with db.read() as session:
            return load_desk(session, settings)

    return read


@contextmanager
def told(db: Database) -> Iterator[list[str]]:
    """The statements of the meantime."""
    statements: list[str] = []

    def hear(_connection: Any, _cursor: Any, statement: str, *_rest: Any) -> None:
        statements.append(statement)

    event.listen(db.engine, "before_cursor_execute", hear)
    try:
        yield statements
    finally:
        event.remove(db.engine, "before_cursor_execute", hear)


def stamp(session: Session) -> int:
    return int(session.connection().execute(text("SELECT stamp FROM data_stamp")).scalar_one())


def tick(session: Session, key: str) -> None:
    ticks.tick(session, "F1", Pause.POUR, "p", "read and done", made_of={}, who="Ada", key=key)


def horizon(session: Session) -> None:
    session.connection().execute(HORIZON)


def test_every_table_raises_the_stamp_that_anything_remembered_is_read_from(db: Database, settings: Settings) -> None:
    with db.read() as session, told(db) as statements:
        metal.past_losses(session, load_desk(session, settings))
    read = {table for said in statements for table in re.findall(r"(?:FROM|JOIN) \"?(\w+)", said)}
    assert {"job", "plan_version", "ledger_posting", "floor_record"} <= read
    assert read - {"data_stamp"} <= set(RAISING)
    assert {"kept_answer", "checklist_tick", "sign_in"}.isdisjoint(RAISING)


def test_the_database_itself_raises_the_stamp(db: Database) -> None:
    with db.write() as session:
        assert missing_guards(session, is_sqlite=db.is_sqlite) == ()
        flasks.pin(session, "F1", "the bride waits")
        for table in RAISING:
            if METADATA.tables[table].info.get("append_only"):
                continue
            key = next(iter(METADATA.tables[table].primary_key.columns)).name
            session.connection().execute(text("UPDATE data_stamp SET stamp = 0"))
            session.connection().execute(text(f"UPDATE {table} SET {key} = {key}"))
            assert stamp(session) != 0, table


def test_a_tick_leaves_the_desk_as_it_is(db: Database, settings: Settings, read_desk: Callable[[], Desk]) -> None:
    desk = read_desk()
    with db.write() as session:
        assert load_desk(session, settings) is desk
        tick(session, "one")
        assert load_desk(session, settings) is desk
    with told(db) as statements:
        assert read_desk() is desk
    assert [said.split()[0] for said in statements if "data_stamp" not in said and "query_only" not in said] in (["BEGIN"], [])


@pytest.mark.parametrize(
    "change",
    [
        horizon,
        lambda session: nouns.archive(session, Job, nouns.all_of(session, Job)[0].id),
        lambda session: flasks.pin(session, "F1", "the bride waits"),
        lambda session: flasks.record(session, "F1", flasks.Stage.INVESTED),
        lambda session: session.connection().execute(text("DELETE FROM powder")),
    ],
    ids=["rules", "archive", "pin", "record", "delete"],
)
def test_a_change_of_what_it_is_made_of_makes_another(
    db: Database, read_desk: Callable[[], Desk], change: Callable[[Session], None]
) -> None:
    desk = read_desk()
    with db.write() as session:
        change(session)
    assert read_desk() is not desk
    assert read_desk() is read_desk()


def test_a_writer_sees_its_own_changes_and_leaves_nothing_of_them_in_memory(
    db: Database, settings: Settings, read_desk: Callable[[], Desk]
) -> None:
    before = read_desk()
    days = before.week.shop.rules.horizon_days
    with suppress(InvalidValue), db.write() as session:
        horizon(session)
        assert load_desk(session, settings).week.shop.rules.horizon_days == days + 1
        raise InvalidValue("days", "taken back")
    assert read_desk() is before
    with db.write() as session:
        horizon(session)
    assert read_desk().week.shop.rules.horizon_days == days + 1


def test_what_a_savepoint_takes_back_is_taken_back_for_the_memory_too(
    db: Database, settings: Settings, read_desk: Callable[[], Desk]
) -> None:
    before = read_desk()
    with db.whole() as session:
        with suppress(InvalidValue), db.write() as inner:
            horizon(inner)
            assert load_desk(inner, settings) is not before
            raise InvalidValue("days", "taken back")
        assert load_desk(session, settings) is before
        tick(session, "two")
    assert read_desk() is before


def test_changes_that_wait_to_be_written_count(db: Database, settings: Settings, read_desk: Callable[[], Desk]) -> None:
    days = read_desk().week.shop.rules.horizon_days
    with db.write() as session:
        rules = session.get(nouns.TABLES[ShopRules], 1)
        assert rules is not None
        rules.horizon_days = days + 2  # type: ignore[attr-defined]
        assert load_desk(session, settings).week.shop.rules.horizon_days == days + 2
        remember(session, "anything", 1)
    with db.read() as session:
        assert recalled(session, "anything") is None


def test_a_writer_remembers_what_it_worked_out_before_its_first_change(
    db: Database, settings: Settings, read_desk: Callable[[], Desk]
) -> None:
    with db.write() as session:
        desk = load_desk(session, settings)
        tick(session, "three")
        remember(session, planning.DESK, None)
    assert read_desk() is desk


def test_a_reader_keeps_to_its_moment(db: Database, settings: Settings, read_desk: Callable[[], Desk]) -> None:
    before = read_desk()
    with db.read() as early:
        assert load_desk(early, settings) is before
        with db.write() as session:
            horizon(session)
        after = read_desk()
        assert after is not before
        assert load_desk(early, settings).week.shop.rules == before.week.shop.rules
    assert read_desk().week.shop.rules == after.week.shop.rules


def test_another_program_that_writes_is_noticed(settings: Settings, read_desk: Callable[[], Desk]) -> None:
    before = read_desk()
    other = Database(settings.database_url)
    with other.write() as session:
        tick(session, "four")
    assert read_desk() is before
    with other.write() as session:
        horizon(session)
    other.close()
    assert read_desk().week.shop.rules.horizon_days == before.week.shop.rules.horizon_days + 1


def test_eight_who_ask_at_once_have_it_worked_out_once(read_desk: Callable[[], Desk], monkeypatch: pytest.MonkeyPatch) -> None:
    made: list[int] = []
    original, together = planning._desk, threading.Barrier(8)

    def counted(*args: Any) -> Desk:
        made.append(1)
        return original(*args)

    def ask(_: int) -> Desk:
        together.wait()
        return read_desk()

    monkeypatch.setattr(planning, "_desk", counted)
    with ThreadPoolExecutor(8) as pool:
        assert len({id(desk) for desk in pool.map(ask, range(8))}) == 1
    assert len(made) == 1


def test_nobody_recalls_what_is_not_so_however_many_read_and_write(db: Database) -> None:
    """Every third change is taken back."""

    def days(session: Session) -> tuple[int, int]:
        """As recalled, and as they are."""
        there = session.connection().execute(text("SELECT horizon_days FROM shop_rules")).scalar_one()
        known = recalled(session, "days")
        if known is None:
            remember(session, "days", there)
        return known or there, there

    def change(number: int) -> None:
        with db.write() as session:
            recalled_first, first = days(session)
            horizon(session)
            recalled_then, then = days(session)
            assert (recalled_first, recalled_then, then) == (first, then, first + 1)
            if number % 3 == 0:
                raise InvalidValue("days", "taken back")

    def one(number: int) -> None:
        if number % 2:
            with suppress(InvalidValue):
                again(lambda: change(number))
            return
        with db.read() as session:
            known, there = days(session)
            assert known == there

    with ThreadPoolExecutor(6) as pool:
        list(pool.map(one, range(60)))


def test_several_jobs_are_asked_for_at_once_also_archived_and_unknown_ones(db: Database) -> None:
    with db.write() as session:
        jobs = nouns.all_of(session, Job)
        nouns.archive(session, Job, jobs[0].id)
    with db.read() as session, told(db) as statements:
        found = nouns.find_all(session, Job, [jobs[1].id, "no such job", jobs[0].id])
    assert len([s for s in statements if s.startswith("SELECT")]) == 1
    assert list(found.items()) == [(jobs[1].id, jobs[1]), ("no such job", None), (jobs[0].id, jobs[0])]


def test_the_plan_is_read_once_and_anew_after_a_change(db: Database) -> None:
    def asked() -> int:
        with db.read() as session, told(db) as statements:
            assert plans.current_plan(session) is not None
        return len([s for s in statements if "FROM plan_version" in s])

    assert [asked(), asked()] == [1, 0]
    with db.write() as session:
        horizon(session)
    assert [asked(), asked()] == [1, 0]
