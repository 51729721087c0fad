"""A stamp that changes with what the desk is worked out from"""

import sqlalchemy as sa
from alembic import op

revision = "0022"
down_revision = "0021"
branch_labels = None
depends_on = None

RAISING = (
    "alloy",
    "burnout_program",
    "casting_machine",
    "closure",
    "consumable",
    "flask_pin",
    "flask_size",
    "floor_record",
    "investment_kind",
    "job",
    "kiln",
    "ledger_entry",
    "ledger_posting",
    "lot",
    "metal",
    "pattern_material",
    "person",
    "plan_version",
    "powder",
    "shop_rules",
)


def upgrade() -> None:
    op.create_table(
        "data_stamp",
        sa.Column("one", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("stamp", sa.BigInteger(), nullable=False),
        sa.CheckConstraint("one = 1", name=op.f("ck_data_stamp_one_row")),
        sa.PrimaryKeyConstraint("one", name=op.f("pk_data_stamp")),
    )
    op.execute("INSERT INTO data_stamp (one, stamp) VALUES (1, 0)")
    for statement in _raising(op.get_bind().dialect.name):
        op.execute(statement)


def _raising(dialect: str) -> list[str]:
    if dialect == "sqlite":
        return [
            f"CREATE TRIGGER {table}_stamped_{act.lower()} AFTER {act} ON {table} "
            "BEGIN UPDATE data_stamp SET stamp = stamp + 1; END"
            for table in RAISING
            for act in ("INSERT", "UPDATE", "DELETE")
        ]
    function = (
        "CREATE OR REPLACE FUNCTION raise_data_stamp() RETURNS trigger LANGUAGE plpgsql AS "
        "$$ DECLARE now bigint = pg_current_xact_id()::text::bigint; "
        "BEGIN UPDATE data_stamp SET stamp = now WHERE stamp <> now; RETURN NULL; END $$"
    )
    triggers = (
        f"CREATE TRIGGER {table}_stamped AFTER INSERT OR UPDATE OR DELETE OR TRUNCATE ON {table} "
        "FOR EACH STATEMENT EXECUTE FUNCTION raise_data_stamp()"
        for table in RAISING
    )
    return [function, *triggers]


def downgrade() -> None:
    if op.get_bind().dialect.name == "sqlite":
        for table in RAISING:
            for act in ("insert", "update", "delete"):
                op.execute(f"DROP TRIGGER {table}_stamped_{act}")
    else:
        op.execute("DROP FUNCTION raise_data_stamp() CASCADE")
    op.drop_table("data_stamp")
