"""The shelf never goes below nothing and never moves anything twice."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import pytest

from domain.books.accounts import Account, AccountKind, Reason, adjustment
from domain.errors import InvalidValue
from domain.shop.lots import Lot, MetalKind
from domain.units import Mass, Share, total
from webapp.store import books, nouns, stock
from webapp.store.books_check import broken
from webapp.store.engine import Database
from webapp.store.stock import Happening

SILVER = Lot(id="L1", name="Fine silver", kind=MetalKind.FINE, composition={"Ag": Share.percent(100)}, mass=Mass.g(100))
SHELF = Account(AccountKind.LOT, "L1")


@pytest.fixture
def lot(empty_db: Database) -> str:
    with empty_db.write() as session:
        nouns.add(session, SILVER)
    return "L1"


def _left(empty_db: Database) -> Mass:
    with empty_db.read() as session:
        found = nouns.find(session, Lot, "L1")
        assert found is not None
        assert broken(session) == ()
        return found.mass


def _moves(empty_db: Database) -> list[Mass]:
    with empty_db.read() as session:
        return [entry.of(SHELF) for entry in books.entries(session, account=SHELF)]


def test_threads_that_withdraw_at_once_never_overdraw(empty_db: Database, lot: str) -> None:
    def withdraw(_number: int) -> bool:
        try:
            with empty_db.write() as session:
                return stock.change_lot(session, lot, Happening.ISSUE, Mass.g(10)).fresh
        except InvalidValue:
            return False

    with ThreadPoolExecutor(8) as pool:
        accepted = sum(pool.map(withdraw, range(40)))
    assert accepted == 10
    assert _left(empty_db) == Mass(0)
    assert total(Mass, _moves(empty_db)) == Mass(0)


def test_more_than_there_is_cannot_be_taken_out(empty_db: Database, lot: str) -> None:
    with pytest.raises(InvalidValue, match=r"only 100\.000\sg are left, not 100\.001\sg"), empty_db.write() as session:
        stock.change_lot(session, lot, Happening.ISSUE, Mass.g("100.001"))
    assert _left(empty_db) == Mass.g(100)


def test_a_refused_entry_leaves_no_trace_even_where_the_rest_is_saved(empty_db: Database, lot: str) -> None:
    with empty_db.write() as session, pytest.raises(InvalidValue):
        stock.change_lot(session, lot, Happening.ISSUE, Mass.g(101))
    assert _moves(empty_db) == [Mass.g(100)]
    assert _left(empty_db) == Mass.g(100)


def test_a_repeated_request_moves_nothing_twice_and_gets_the_same_answer(empty_db: Database, lot: str) -> None:
    answers = []
    for _ in range(2):
        with empty_db.write() as session:
            answers.append(stock.change_lot(session, lot, Happening.ISSUE, Mass.g(30), key="tablet-1"))
    assert [answer.fresh for answer in answers] == [True, False]
    assert answers[0].entry == answers[1].entry
    assert _left(empty_db) == Mass.g(70)


def test_a_count_books_the_difference_to_its_reason(empty_db: Database, lot: str) -> None:
    with empty_db.write() as session:
        stock.change_lot(session, lot, Happening.COUNT, Mass.g("99.4"), reason=Reason.SPILLAGE, note="year end")
    with empty_db.read() as session:
        counted, _opening = books.entries(session, account=SHELF)
        assert books.balance(session, adjustment(Reason.SPILLAGE)).mass == Mass.g("0.6")
    assert (counted.of(SHELF), counted.note) == (Mass.g("-0.6"), "year end")
    assert _left(empty_db) == Mass.g("99.4")


def test_a_count_that_agrees_is_written_down_too(empty_db: Database, lot: str) -> None:
    with empty_db.write() as session:
        stock.change_lot(session, lot, Happening.COUNT, Mass.g(100))
    assert _moves(empty_db) == [Mass(0), Mass.g(100)]


def test_a_mass_that_is_brought_in_is_an_entry_like_any_other(empty_db: Database, lot: str) -> None:
    with empty_db.write() as session:
        stock.change_lot(session, lot, Happening.ISSUE, Mass.g("12.5"))
        nouns.put(session, replace(SILVER, mass=Mass.g(40)))
    assert _moves(empty_db) == [Mass.g("-47.5"), Mass.g("-12.5"), Mass.g(100)]
    assert _left(empty_db) == Mass.g(40)


@pytest.mark.usefixtures("lot")
def test_a_new_assay_books_the_elements_anew_and_leaves_the_mass(empty_db: Database) -> None:
    found = {"Ag": Share.permille(925), "Cu": Share.permille(75)}
    with empty_db.write() as session:
        nouns.put(session, replace(SILVER, composition=found))
    with empty_db.read() as session:
        assert books.balance(session, SHELF).elements == {"Ag": 92_500_000_000, "Cu": 7_500_000_000}
        assert books.balance(session, adjustment(Reason.ASSAY)).elements == {"Ag": 7_500_000_000, "Cu": -7_500_000_000}
    assert _left(empty_db) == Mass.g(100)


@pytest.mark.usefixtures("lot")
def test_metal_that_turns_out_to_be_a_customers_leaves_the_shops_books_first(empty_db: Database) -> None:
    with empty_db.write() as session:
        nouns.put(session, replace(SILVER, owner_job="J1"))
    assert _moves(empty_db) == [Mass.g(100), Mass.g(-100), Mass.g(100)]
    with empty_db.read() as session:
        assert books.balance(session, Account(AccountKind.CUSTOMER, "J1")).mass == Mass.g(-100)
    assert _left(empty_db) == Mass.g(100)


def test_a_customers_own_metal_is_given_back_and_goes_nowhere_else(empty_db: Database) -> None:
    with empty_db.write() as session:
        nouns.add(session, replace(SILVER, owner_job="J1"))
    for happening in (Happening.ISSUE, Happening.REFINER):
        with pytest.raises(InvalidValue, match="own metal"), empty_db.write() as session:
            stock.change_lot(session, "L1", happening, Mass.g(1))
    with empty_db.write() as session:
        stock.change_lot(session, "L1", Happening.GIVEN_BACK, Mass.g(100))
    with empty_db.read() as session:
        assert books.balance(session, Account(AccountKind.CUSTOMER, "J1")).mass == Mass(0)
    assert _left(empty_db) == Mass(0)
