"""Consumables with their append-only entries; orders of powder and consumables"""

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None

THERE = "id = NEW.id OR key = NEW.key OR reverses = NEW.reverses"


def _one_of(name: str, *texts: str) -> sa.Enum:
    return sa.Enum(*texts, name=name, native_enum=False, create_constraint=True, length=40)


PER = ("flask invested", "kiln load started", "flask cast")
MOVES = ("opening", "received", "taken out", "came back", "counted", "used", "taken back")


def upgrade() -> None:
    op.create_table(
        "consumable",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("unit", _one_of("countedin", "g", "l", "pieces"), nullable=False),
        sa.Column("per", _one_of("usedper", *PER), nullable=False),
        sa.Column("use", sa.BigInteger(), nullable=False),
        sa.Column("amount", sa.BigInteger(), nullable=False),
        sa.Column("pack", sa.BigInteger(), nullable=False),
        sa.Column("price", sa.BigInteger(), nullable=False),
        sa.Column("lead_days", sa.Integer(), nullable=False),
        *(
            sa.CheckConstraint(f"{name} >= {least}", name=op.f(f"ck_consumable_{name}_at_least_{least}"))
            for name, least in (("amount", 0), ("use", 0), ("price", 0), ("lead_days", 0), ("pack", 1))
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_consumable")),
    )
    op.create_table(
        "supply_entry",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("consumable", sa.String(), nullable=False),
        sa.Column("kind", _one_of("supplymove", *MOVES), nullable=False),
        sa.Column("amount", sa.BigInteger(), nullable=False),
        sa.Column("other", sa.String(), nullable=False),
        sa.Column("flask", sa.String(), nullable=True),
        sa.Column("per", _one_of("usedper", *PER), nullable=True),
        sa.Column("note", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=True),
        sa.Column("reverses", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(["consumable"], ["consumable.id"], name=op.f("fk_supply_entry_consumable")),
        sa.ForeignKeyConstraint(["reverses"], ["supply_entry.id"], name=op.f("fk_supply_entry_reverses")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_supply_entry")),
        sa.UniqueConstraint("key", name=op.f("uq_supply_entry_key")),
        sa.UniqueConstraint("reverses", name=op.f("uq_supply_entry_reverses")),
    )
    op.create_index(op.f("ix_supply_entry_consumable"), "supply_entry", ["consumable"])
    op.create_index(op.f("ix_supply_entry_flask"), "supply_entry", ["flask"])
    op.create_table(
        "supply_order",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("powder", sa.String(), nullable=True),
        sa.Column("consumable", sa.String(), nullable=True),
        sa.Column("amount", sa.BigInteger(), nullable=False),
        sa.Column("cost", sa.BigInteger(), nullable=False),
        sa.Column("arrives", sa.Date(), nullable=False),
        sa.Column("closed", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=True),
        sa.CheckConstraint("amount >= 1", name=op.f("ck_supply_order_amount_at_least_1")),
        sa.CheckConstraint("cost >= 0", name=op.f("ck_supply_order_cost_at_least_0")),
        sa.CheckConstraint("(powder IS NULL) <> (consumable IS NULL)", name=op.f("ck_supply_order_one_thing")),
        sa.CheckConstraint("closed IN ('', 'arrived', 'taken back')", name=op.f("ck_supply_order_ended")),
        sa.ForeignKeyConstraint(["powder"], ["powder.investment"], name=op.f("fk_supply_order_powder")),
        sa.ForeignKeyConstraint(["consumable"], ["consumable.id"], name=op.f("fk_supply_order_consumable")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_supply_order")),
        sa.UniqueConstraint("key", name=op.f("uq_supply_order_key")),
    )
    for statement in _append_only(op.get_bind().dialect.name):
        op.execute(statement)


def downgrade() -> None:
    for table in ("supply_order", "supply_entry", "consumable"):
        op.drop_table(table)
    if op.get_bind().dialect.name == "postgresql":
        op.execute("DROP FUNCTION supply_entry_refuse()")


def _append_only(dialect: str) -> tuple[str, ...]:
    says = "supply_entry is append-only"
    if dialect == "sqlite":
        replaced = f" WHEN EXISTS (SELECT 1 FROM supply_entry WHERE {THERE})"
        changes = (("no_update", "UPDATE", ""), ("no_delete", "DELETE", ""), ("no_replace", "INSERT", replaced))
        return tuple(
            f"CREATE TRIGGER supply_entry_{name} BEFORE {act} ON supply_entry{when} BEGIN SELECT RAISE(ABORT, '{says}'); END"
            for name, act, when in changes
        )
    return (
        f"CREATE OR REPLACE FUNCTION supply_entry_refuse() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{says}' USING ERRCODE = 'integrity_constraint_violation'; END $$",
        "CREATE TRIGGER supply_entry_no_change BEFORE UPDATE OR DELETE ON supply_entry "
        "FOR EACH ROW EXECUTE FUNCTION supply_entry_refuse()",
        "CREATE TRIGGER supply_entry_no_truncate BEFORE TRUNCATE ON supply_entry "
        "FOR EACH STATEMENT EXECUTE FUNCTION supply_entry_refuse()",
    )
