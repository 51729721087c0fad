"""Ticks know what the flask was and who signed second, and are never changed; what a manager let pass"""

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None

KEPT = ("checklist_tick", "checklist_override")


def upgrade() -> None:
    op.add_column("checklist_tick", sa.Column("second", sa.Boolean(), server_default="0", nullable=False))
    op.add_column("checklist_tick", sa.Column("account", sa.Integer(), nullable=True))
    op.add_column("checklist_tick", sa.Column("made_of", sa.Text(), server_default="{}", nullable=False))
    op.add_column("checklist_point", sa.Column("second", sa.Boolean(), nullable=True))
    op.create_table(
        "checklist_override",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("flask", sa.String(), nullable=False),
        sa.Column("pause", sa.String(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("points", sa.Text(), nullable=False),
        sa.Column("made_of", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("who", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=True),
        sa.CheckConstraint("length(reason) >= 10", name=op.f("ck_checklist_override_reason_is_given")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_checklist_override")),
        sa.UniqueConstraint("key", name=op.f("uq_checklist_override_key")),
    )
    op.create_index(op.f("ix_checklist_override_flask"), "checklist_override", ["flask"])
    for table in KEPT:
        for statement in _append_only(table, op.get_bind().dialect.name):
            op.execute(statement)


def _append_only(table: str, dialect: str) -> tuple[str, ...]:
    says = f"{table} is append-only"
    if dialect == "sqlite":
        there = f" WHEN EXISTS (SELECT 1 FROM {table} WHERE id = NEW.id OR key = NEW.key)"
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
    op.drop_table("checklist_override")
    if op.get_bind().dialect.name == "postgresql":
        for name in ("no_change", "no_truncate"):
            op.execute(f"DROP TRIGGER checklist_tick_{name} ON checklist_tick")
        for table in KEPT:
            op.execute(f"DROP FUNCTION IF EXISTS {table}_refuse()")
    else:
        for name in ("no_update", "no_delete", "no_replace"):
            op.execute(f"DROP TRIGGER checklist_tick_{name}")
    for table, column in (("checklist_point", "second"), *(("checklist_tick", name) for name in ("made_of", "account", "second"))):
        op.drop_column(table, column)
