"""Books that an older Castweek wrote keep their sums when their database is brought up to date."""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any

from alembic import command
from databases import NewDatabase
from sqlalchemy import Connection, MetaData, text

from domain.books.accounts import Account, AccountKind, lot
from domain.shop.lots import Lot
from domain.units import Mass
from webapp.store import books, nouns
from webapp.store.books_check import broken, rebuilt
from webapp.store.engine import Database
from webapp.store.migrations import config_for, migrate

THEN = datetime(2025, 11, 3, 9, 0)
HERE, COMING, USED = "L1", "L2", "L3"


def _lot(key: str, mass: int, arrives: str | None = None) -> dict[str, Any]:
    values = {"id": key, "name": key, "kind": "casting grain", "composition": '{"Ag": {"base": 1000000}}', "mass": mass}
    day = datetime.fromisoformat(arrives).date() if arrives else None
    return {**values, "position": 0, "version": 1, "updated_at": THEN, "melts": 0, "cost": 0, "arrives": day}


class _Old:
    """Writes into tables as they were."""

    def __init__(self, connection: Connection) -> None:
        self.connection, self.tables = connection, MetaData()
        self.tables.reflect(connection)
        self.held: dict[tuple[str, str], int] = {}

    def put(self, table: str, **values: Any) -> None:
        self.connection.execute(self.tables.tables[table].insert().values(values))

    def entry(self, number: int, kind: str, moves: dict[tuple[str, str], int], **more: Any) -> None:
        self.put("ledger_entry", id=number, at=THEN, kind=kind, who="", note="", **more)
        for line, ((account, ref), mass) in enumerate(moves.items(), 1):
            elements = json.dumps({"Ag": mass * 1_000_000})
            self.put("ledger_posting", entry=number, line=line, account=account, ref=ref, mass=mass, elements=elements)
            self.held[account, ref] = self.held.get((account, ref), 0) + mass

    def balances(self) -> None:
        for (account, ref), mass in self.held.items():
            elements = json.dumps({"Ag": mass * 1_000_000} if mass else {})
            self.put("ledger_balance", account=account, ref=ref, owner="", mass=mass, elements=elements)


def _filled(connection: Connection) -> None:
    """A lot that was used and counted, a delivery on its way, and one of which some was used."""
    old = _Old(connection)
    old.put("lot", **_lot(HERE, 60_000))
    old.put("lot", **_lot(COMING, 100_000, "2025-11-05"))
    old.put("lot", **_lot(USED, 30_000, "2025-11-01"))
    supplier = ("supplier", "silver")
    old.entry(1, "received", {supplier: -80_000, ("lot", HERE): 80_000})
    old.entry(2, "charged", {("lot", HERE): -20_000, ("melt", "F1"): 20_000}, flask="F1")
    old.entry(3, "received", {supplier: -90_000, ("lot", COMING): 90_000})
    old.entry(4, "taken back", {supplier: 90_000, ("lot", COMING): -90_000}, reverses=3)
    old.entry(5, "received", {supplier: -100_000, ("lot", COMING): 100_000})
    old.entry(6, "received", {supplier: -40_000, ("lot", USED): 40_000})
    old.entry(7, "charged", {("lot", USED): -10_000, ("melt", "F1"): 10_000}, flask="F1")
    old.balances()
    if connection.dialect.name == "postgresql":
        connection.execute(text("SELECT setval(pg_get_serial_sequence('ledger_entry', 'id'), 7)"))


def test_old_books_keep_their_sums_and_what_is_on_its_way_leaves_them(new_database: NewDatabase) -> None:
    db = Database(new_database(None))
    command.upgrade(config_for(db), "0006")
    with db.to_migrate() as connection:
        _filled(connection)
    migrate(db)
    with db.read() as session:
        assert broken(session) == ()
        lots = {one.id: one for one in nouns.all_of(session, Lot)}
        assert books.balance(session, lot(HERE)).mass == lots[HERE].mass == Mass(60_000)
        # the delivery is on its way with all that was ordered, and nobody's account holds it
        assert (lots[COMING].mass, lots[COMING].arrives) == (Mass(100_000), "2025-11-05")
        assert books.balance(session, lot(COMING)).mass == Mass(0)
        # one of which some was used must be here
        assert (lots[USED].mass, lots[USED].arrives) == (Mass(30_000), None)
        assert books.balance(session, Account(AccountKind.MELT, "F1")).mass == Mass(30_000)
        assert books.balance(session, Account(AccountKind.SUPPLIER, "silver")).mass == Mass(-120_000)
        assert [e.reverses for e in books.entries(session, account=lot(COMING))] == [5, None, 3, None]
        assert rebuilt(session)["lot", COMING] == {"": 0}
    db.close()
