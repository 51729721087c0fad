"""The books: entries that balance in place of single movements. Every movement becomes an entry."""

import json
from collections import defaultdict
from collections.abc import Iterator
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

ACCOUNTS = ("supplier", "customer", "lot", "powder", "melt", "job", "returns", "loss", "mould", "refiner", "adjustment")
KINDS = (
    "opening",
    "received",
    "charged",
    "cast",
    "back on the shelf",
    "taken out",
    "came back",
    "counted",
    "assayed",
    "given back",
    "to the refiner",
    "invested",
    "taken back",
)
MOVEMENTS = ("receipt", "issue", "return", "count")
BECOMES = {"receipt": "received", "issue": "taken out", "return": "came back", "count": "counted"}
UNIQUE_TOGETHER = {
    "ledger_entry": "id = NEW.id OR key = NEW.key OR reverses = NEW.reverses",
    "ledger_posting": "(entry = NEW.entry AND line = NEW.line)",
}
MILLION = 1_000_000


def upgrade() -> None:
    entry, posting, balance = _tables()
    connection = op.get_bind()
    movements = connection.execute(sa.text("SELECT * FROM stock_movement ORDER BY id")).mappings().all()
    if movements:
        whole, owners = _shelf(connection)
        _move_over(connection, (entry, posting, balance), movements, whole, owners)
    op.drop_table("stock_movement")
    for table in ("ledger_entry", "ledger_posting"):
        for statement in _append_only(table, connection.dialect.name):
            op.execute(statement)


def _account() -> sa.Enum:
    return sa.Enum(*ACCOUNTS, name="accountkind", native_enum=False, create_constraint=True, length=40)


def _tables() -> tuple[sa.Table, sa.Table, sa.Table]:
    entry = op.create_table(
        "ledger_entry",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("kind", sa.Enum(*KINDS, name="entrykind", native_enum=False, create_constraint=True, length=40), nullable=False),
        sa.Column("flask", sa.String(), nullable=True),
        sa.Column("alloy", sa.String(), nullable=True),
        sa.Column("who", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=True),
        sa.Column("reverses", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["reverses"], ["ledger_entry.id"], name=op.f("fk_ledger_entry_reverses")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ledger_entry")),
        sa.UniqueConstraint("key", name=op.f("uq_ledger_entry_key")),
        sa.UniqueConstraint("reverses", name=op.f("uq_ledger_entry_reverses")),
    )
    op.create_index(op.f("ix_ledger_entry_at"), "ledger_entry", ["at"])
    op.create_index(op.f("ix_ledger_entry_flask"), "ledger_entry", ["flask"])
    posting = op.create_table(
        "ledger_posting",
        sa.Column("entry", sa.Integer(), nullable=False),
        sa.Column("line", sa.Integer(), nullable=False),
        sa.Column("account", _account(), nullable=False),
        sa.Column("ref", sa.String(), nullable=False),
        sa.Column("mass", sa.BigInteger(), nullable=False),
        sa.Column("elements", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["entry"], ["ledger_entry.id"], name=op.f("fk_ledger_posting_entry")),
        sa.PrimaryKeyConstraint("entry", "line", name=op.f("pk_ledger_posting")),
    )
    op.create_index("ix_ledger_posting_account_ref_entry", "ledger_posting", ["account", "ref", "entry"])
    balance = op.create_table(
        "ledger_balance",
        sa.Column("account", _account(), nullable=False),
        sa.Column("ref", sa.String(), nullable=False),
        sa.Column("owner", sa.String(), nullable=False),
        sa.Column("mass", sa.BigInteger(), nullable=False),
        sa.Column("elements", sa.Text(), nullable=False),
        sa.CheckConstraint(
            "mass >= 0 OR account IN ('supplier', 'customer', 'adjustment')", name=op.f("ck_ledger_balance_nothing_is_owed")
        ),
        sa.PrimaryKeyConstraint("account", "ref", name=op.f("pk_ledger_balance")),
    )
    op.create_table(
        "ledger_reservation",
        sa.Column("flask", sa.String(), nullable=False),
        sa.Column("lot", sa.String(), nullable=False),
        sa.Column("mass", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("mass >= 1", name=op.f("ck_ledger_reservation_mass_at_least_1")),
        sa.ForeignKeyConstraint(["lot"], ["lot.id"], name=op.f("fk_ledger_reservation_lot")),
        sa.PrimaryKeyConstraint("flask", "lot", name=op.f("pk_ledger_reservation")),
    )
    op.create_index(op.f("ix_ledger_reservation_lot"), "ledger_reservation", ["lot"])
    return entry, posting, balance


def _shelf(connection: sa.Connection) -> tuple[dict[tuple[str, str], dict[str, int]], dict[str, tuple[str, str]]]:
    """By account, the parts per million of each element, made a whole; by lot, its owner and its metal."""
    whole: dict[tuple[str, str], dict[str, int]] = {}
    owners: dict[str, tuple[str, str]] = {}
    for lot, composition, owner, metal in connection.execute(sa.text("SELECT id, composition, owner_job, metal FROM lot")):
        whole["lot", lot] = _whole(json.loads(composition))
        owners[lot] = (owner or "", metal or "")
    for (powder,) in connection.execute(sa.text("SELECT investment FROM powder")):
        whole["powder", powder] = {"powder": MILLION}
    return whole, owners


def _whole(composition: dict[str, Any]) -> dict[str, int]:
    shares = {e: share["base"] if isinstance(share, dict) else share for e, share in composition.items()}
    shares = {e: share for e, share in shares.items() if share > 0} or {"unknown": MILLION}
    total = sum(shares.values())
    parts = {e: divmod(share * MILLION, total) for e, share in shares.items()}
    left = MILLION - sum(floor for floor, _ in parts.values())
    up = sorted(parts, key=lambda e: (-parts[e][1], e))[:left]
    return {e: floor + (e in up) for e, (floor, _) in sorted(parts.items())}


def _move_over(
    connection: sa.Connection,
    tables: tuple[sa.Table, sa.Table, sa.Table],
    movements: Any,
    whole: dict[tuple[str, str], dict[str, int]],
    owners: dict[str, tuple[str, str]],
) -> None:
    entry, posting, balance = tables
    sums: defaultdict[tuple[str, str], defaultdict[str, int]] = defaultdict(lambda: defaultdict(int))
    rows: list[dict[str, Any]] = []
    for row in _postings(movements, whole, owners):
        rows.append({**row, "elements": json.dumps({e: n for e, n in row["elements"].items() if n})})
        account = sums[row["account"], row["ref"]]
        for element, amount in (("", row["mass"]), *row["elements"].items()):
            account[element] += amount
    connection.execute(sa.insert(entry), list(_entries(movements)))
    connection.execute(sa.insert(posting), rows)
    connection.execute(sa.insert(balance), [_balance(key, held, owners) for key, held in sums.items()])
    if connection.dialect.name == "postgresql":
        connection.execute(
            sa.text("SELECT setval(pg_get_serial_sequence('ledger_entry', 'id'), (SELECT MAX(id) FROM ledger_entry))")
        )


def _entries(movements: Any) -> Iterator[dict[str, Any]]:
    at = sa.DateTime()
    for m in movements:
        when = m["at"] if not isinstance(m["at"], str) else at.python_type.fromisoformat(m["at"])
        kind = "opening" if m["note"] == "opening balance" else BECOMES[m["kind"]]
        yield {"id": m["id"], "at": when, "kind": kind, "flask": m["flask"], "who": "", "note": m["note"], "key": m["key"]}


def _postings(
    movements: Any, whole: dict[tuple[str, str], dict[str, int]], owners: dict[str, tuple[str, str]]
) -> Iterator[dict[str, Any]]:
    for m in movements:
        account = ("lot", m["lot"]) if m["lot"] else ("powder", m["powder"])
        elements = {e: m["mass"] * ppm for e, ppm in whole[account].items()}
        away = _away(m, owners)
        yield {"entry": m["id"], "line": 1, "account": account[0], "ref": account[1], "mass": m["mass"], "elements": elements}
        back = {e: -n for e, n in elements.items()}
        yield {"entry": m["id"], "line": 2, "account": away[0], "ref": away[1], "mass": -m["mass"], "elements": back}


def _away(movement: Any, owners: dict[str, tuple[str, str]]) -> tuple[str, str]:
    owner, metal = owners[movement["lot"]] if movement["lot"] else ("", movement["powder"])
    if owner:
        return ("customer", owner)
    if movement["note"] == "opening balance":
        return ("adjustment", "opening balance")
    if movement["kind"] == "receipt":
        return ("supplier", metal)
    return ("adjustment", "other" if movement["kind"] == "count" else "other use")


def _balance(key: tuple[str, str], held: dict[str, int], owners: dict[str, tuple[str, str]]) -> dict[str, Any]:
    elements = {e: n for e, n in sorted(held.items()) if e and n}
    owner = owners[key[1]][0] if key[0] == "lot" else key[1] if key[0] == "customer" else ""
    return {"account": key[0], "ref": key[1], "owner": owner, "mass": held[""], "elements": json.dumps(elements)}


def _append_only(table: str, dialect: str) -> tuple[str, ...]:
    says = f"{table} is append-only"
    if dialect == "sqlite":
        there = f" WHEN EXISTS (SELECT 1 FROM {table} WHERE {UNIQUE_TOGETHER[table]})"
        return tuple(
            f"CREATE TRIGGER {table}_{name} BEFORE {act} ON {table}{when} BEGIN SELECT RAISE(ABORT, '{says}'); END"
            for name, act, when in (("no_update", "UPDATE", ""), ("no_delete", "DELETE", ""), ("no_replace", "INSERT", there))
        )
    return (
        f"CREATE OR REPLACE FUNCTION {table}_refuse() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{says}' USING ERRCODE = 'integrity_constraint_violation'; END $$",
        f"CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table} FOR EACH ROW EXECUTE FUNCTION {table}_refuse()",
        f"CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table} FOR EACH STATEMENT EXECUTE FUNCTION {table}_refuse()",
    )


def downgrade() -> None:
    op.create_table(
        "stock_movement",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column(
            "kind", sa.Enum(*MOVEMENTS, name="movementkind", native_enum=False, create_constraint=True, length=40), nullable=False
        ),
        sa.Column("lot", sa.String(), nullable=True),
        sa.Column("powder", sa.String(), nullable=True),
        sa.Column("mass", sa.BigInteger(), nullable=False),
        sa.Column("flask", sa.String(), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=True),
        sa.CheckConstraint("(lot IS NULL) <> (powder IS NULL)", name=op.f("ck_stock_movement_lot_or_powder")),
        sa.ForeignKeyConstraint(["lot"], ["lot.id"], name=op.f("fk_stock_movement_lot")),
        sa.ForeignKeyConstraint(["powder"], ["powder.investment"], name=op.f("fk_stock_movement_powder")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stock_movement")),
        sa.UniqueConstraint("key", name=op.f("uq_stock_movement_key")),
    )
    op.create_index(op.f("ix_stock_movement_lot"), "stock_movement", ["lot"])
    op.create_index(op.f("ix_stock_movement_powder"), "stock_movement", ["powder"])
    op.execute(
        "INSERT INTO stock_movement (at, kind, lot, powder, mass, flask, note) "
        "SELECT e.at, 'count', CASE WHEN p.account = 'lot' THEN p.ref END, CASE WHEN p.account = 'powder' THEN p.ref END, "
        "p.mass, e.flask, e.note FROM ledger_posting p JOIN ledger_entry e ON e.id = p.entry "
        "WHERE p.account IN ('lot', 'powder') ORDER BY p.entry, p.line"
    )
    for table in ("ledger_reservation", "ledger_balance", "ledger_posting", "ledger_entry"):
        op.drop_table(table)
    if op.get_bind().dialect.name == "postgresql":
        for table in ("ledger_entry", "ledger_posting"):
            op.execute(f"DROP FUNCTION IF EXISTS {table}_refuse()")
