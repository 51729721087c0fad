"""The ledger never overdraws a lot and never moves anything twice."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest

from domain.errors import InvalidValue
from domain.shop.lots import Lot, MetalKind
from domain.units import Mass, Share, total
from webapp.store import nouns, stock
from webapp.store.engine import Database
from webapp.store.stock import MovementKind

SILVER = Lot(id="L1", name="Fine silver", kind=MetalKind.FINE, composition={"Ag": Share.percent(100)}, mass=Mass.g(100))


@pytest.fixture
def lot(empty_db: Database) -> str:
    with empty_db.write() as session:
        nouns.add(session, SILVER)
    return "L1"


def _left(empty_db: Database) -> Mass:
    with empty_db.read() as session:
        found = nouns.find(session, Lot, "L1")
        assert found is not None
        return found.mass


def test_threads_that_withdraw_at_once_never_overdraw(empty_db: Database, lot: str) -> None:
    def withdraw(_number: int) -> bool:
        try:
            with empty_db.write() as session:
                return stock.move_lot(session, lot, MovementKind.ISSUE, Mass.g(-10))
        except InvalidValue:
            return False

    with ThreadPoolExecutor(8) as pool:
        accepted = sum(pool.map(withdraw, range(40)))
    assert accepted == 10
    assert _left(empty_db) == Mass(0)
    with empty_db.read() as session:
        assert total(Mass, (m.mass for m in stock.movements_of(session, lot=lot))) == Mass(0)


def test_more_than_there_is_cannot_be_issued(empty_db: Database, lot: str) -> None:
    with pytest.raises(InvalidValue, match=r"only 100\.000\sg are left, not 100\.001\sg"), empty_db.write() as session:
        stock.move_lot(session, lot, MovementKind.ISSUE, Mass.g("-100.001"))
    assert _left(empty_db) == Mass.g(100)


def test_a_repeated_request_moves_nothing_twice(empty_db: Database, lot: str) -> None:
    for first in (True, False):
        with empty_db.write() as session:
            assert stock.move_lot(session, lot, MovementKind.ISSUE, Mass.g(-30), key="tablet-1") is first
    assert _left(empty_db) == Mass.g(70)


def test_a_count_moves_the_difference(empty_db: Database, lot: str) -> None:
    with empty_db.write() as session:
        stock.count_lot(session, lot, Mass.g("99.4"), note="year end")
    with empty_db.read() as session:
        movement, _opening = stock.movements_of(session, lot=lot)
    assert (movement.kind, movement.mass, movement.note) == (MovementKind.COUNT, Mass.g("-0.6"), "year end")
    assert _left(empty_db) == Mass.g("99.4")


def test_the_balance_of_every_lot_is_the_sum_of_its_movements(empty_db: Database, lot: str) -> None:
    with empty_db.write() as session:
        stock.move_lot(session, lot, MovementKind.ISSUE, Mass.g("-12.5"))
        nouns.put(session, replace(SILVER, mass=Mass.g(40)))
    with empty_db.read() as session:
        movements = stock.movements_of(session, lot=lot)
    assert [m.mass for m in movements] == [Mass.g("-47.5"), Mass.g("-12.5"), Mass.g(100)]
    assert total(Mass, (m.mass for m in movements)) == _left(empty_db) == Mass.g(40)
