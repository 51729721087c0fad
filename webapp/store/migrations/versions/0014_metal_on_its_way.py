"""Metal on its way is in no account before it arrives; what was ordered and what became of it"""

import json
from collections.abc import Mapping
from datetime import UTC, datetime

import sqlalchemy as sa
from alembic import op

revision = "0014"
down_revision = "0013"
branch_labels = None
depends_on = None

STATES = ("placed", "arrived", "arrived in part", "cancelled")
ENTRY = sa.table("ledger_entry", *(sa.column(n) for n in ("id", "kind", "flask", "alloy", "who", "note", "reverses")))
ENTRY.append_column(sa.column("at", sa.DateTime()))
POSTING = sa.table("ledger_posting", *(sa.column(n) for n in ("entry", "line", "account", "ref", "mass", "elements")))
BALANCE = sa.table("ledger_balance", *(sa.column(n) for n in ("account", "ref", "mass", "elements")))
LOT = sa.table("lot", *(sa.column(n) for n in ("id", "mass", "ordered", "arrives")))


def upgrade() -> None:
    op.add_column("lot", sa.Column("ordered", sa.BigInteger(), server_default="0", nullable=False))
    op.create_index("ix_ledger_entry_kind_at", "ledger_entry", ["kind", "at"])
    op.create_table(
        "metal_order",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("lot", sa.String(), nullable=False),
        sa.Column("metal", sa.String(), nullable=False),
        sa.Column("mass", sa.BigInteger(), nullable=False),
        sa.Column("cost", sa.BigInteger(), nullable=False),
        sa.Column("arrives", sa.Date(), nullable=False),
        sa.Column(
            "state",
            sa.Enum(*STATES, name="orderstate", native_enum=False, create_constraint=True, length=40),
            nullable=False,
        ),
        sa.Column("came", sa.BigInteger(), nullable=False),
        sa.Column("closed_at", sa.DateTime(), nullable=True),
        sa.Column("key", sa.String(), nullable=True),
        sa.CheckConstraint("mass >= 1", name=op.f("ck_metal_order_mass_at_least_1")),
        sa.CheckConstraint("cost >= 0", name=op.f("ck_metal_order_cost_at_least_0")),
        sa.CheckConstraint("came >= 0", name=op.f("ck_metal_order_came_at_least_0")),
        sa.CheckConstraint("(closed_at IS NULL) = (state = 'placed')", name=op.f("ck_metal_order_closed_when_not_placed")),
        sa.ForeignKeyConstraint(["lot"], ["lot.id"], name=op.f("fk_metal_order_lot")),
        sa.ForeignKeyConstraint(["metal"], ["metal.id"], name=op.f("fk_metal_order_metal")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_metal_order")),
        sa.UniqueConstraint("key", name=op.f("uq_metal_order_key")),
        sa.UniqueConstraint("lot", name=op.f("uq_metal_order_lot")),
    )
    connection = op.get_bind()
    coming = connection.execute(sa.select(LOT.c.id, LOT.c.mass).where(LOT.c.arrives.is_not(None))).all()
    for lot, mass in coming:
        _out_of_the_books(connection, lot, mass)


def _out_of_the_books(connection: sa.Connection, lot: str, mass: int) -> None:
    """What was booked when it was ordered is taken back; a delivery of which something was used is here."""
    entries = connection.execute(
        sa.select(ENTRY.c.id, ENTRY.c.kind, ENTRY.c.reverses)
        .join(POSTING, POSTING.c.entry == ENTRY.c.id)
        .where(POSTING.c.account == "lot", POSTING.c.ref == lot)
        .distinct()
        .order_by(ENTRY.c.id)
    ).all()
    if any(kind not in ("opening", "received", "counted", "taken back") for _, kind, _ in entries):
        connection.execute(LOT.update().where(LOT.c.id == lot).values(arrives=None))
        return
    gone = {reverses for _, _, reverses in entries if reverses}
    for number, _, reverses in reversed(entries):
        if not reverses and number not in gone:
            _take_back(connection, number)
    connection.execute(LOT.update().where(LOT.c.id == lot).values(mass=0, ordered=mass))


def _take_back(connection: sa.Connection, number: int) -> None:
    values = {
        "at": datetime.now(UTC).replace(tzinfo=None),
        "kind": "taken back",
        "who": "",
        "note": "metal on its way is booked when it arrives",
        "reverses": number,
    }
    counter = connection.execute(ENTRY.insert().values(values).returning(ENTRY.c.id)).scalar_one()
    lines = connection.execute(sa.select(POSTING).where(POSTING.c.entry == number).order_by(POSTING.c.line)).mappings().all()
    for line in lines:
        elements = {e: -amount for e, amount in json.loads(line["elements"]).items()}
        connection.execute(
            POSTING.insert().values({**line, "entry": counter, "mass": -line["mass"], "elements": json.dumps(elements)})
        )
        _add(connection, line["account"], line["ref"], -line["mass"], elements)


def _add(connection: sa.Connection, account: str, ref: str, mass: int, elements: Mapping[str, int]) -> None:
    where = (BALANCE.c.account == account, BALANCE.c.ref == ref)
    held, made_of = connection.execute(sa.select(BALANCE.c.mass, BALANCE.c.elements).where(*where)).one()
    there = json.loads(made_of)
    sums = {e: there.get(e, 0) + elements.get(e, 0) for e in sorted(there.keys() | elements.keys())}
    kept = json.dumps({e: amount for e, amount in sums.items() if amount})
    connection.execute(BALANCE.update().where(*where).values(mass=held + mass, elements=kept))


def downgrade() -> None:
    op.drop_table("metal_order")
    op.drop_index("ix_ledger_entry_kind_at", "ledger_entry")
    with op.batch_alter_table("lot") as lot:
        lot.drop_column("ordered")
