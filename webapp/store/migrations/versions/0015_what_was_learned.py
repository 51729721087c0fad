"""Decisions about what the record suggests, append-only"""

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None

LEARNED = ("minutes for each cast", "melt loss", "fixed part of the button")


def upgrade() -> None:
    op.create_table(
        "learned",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("who", sa.String(), nullable=False),
        sa.Column("what", sa.Enum(*LEARNED, name="learned", native_enum=False, create_constraint=True, length=40), nullable=False),
        sa.Column("subject", sa.String(), nullable=False),
        sa.Column("accepted", sa.Boolean(), nullable=False),
        sa.Column("planned", sa.Integer(), nullable=False),
        sa.Column("use", sa.Integer(), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("note", sa.String(), nullable=False),
        *(sa.CheckConstraint(f"{name} >= 0", name=op.f(f"ck_learned_{name}_at_least_0")) for name in ("planned", "use", "count")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_learned")),
    )
    for statement in _append_only(op.get_bind().dialect.name):
        op.execute(statement)


def downgrade() -> None:
    op.drop_table("learned")
    if op.get_bind().dialect.name == "postgresql":
        op.execute("DROP FUNCTION learned_refuse()")


def _append_only(dialect: str) -> tuple[str, ...]:
    says = "learned is append-only"
    if dialect == "sqlite":
        replaced = " WHEN EXISTS (SELECT 1 FROM learned WHERE id = NEW.id)"
        changes = (("no_update", "UPDATE", ""), ("no_delete", "DELETE", ""), ("no_replace", "INSERT", replaced))
        return tuple(
            f"CREATE TRIGGER learned_{name} BEFORE {act} ON learned{when} BEGIN SELECT RAISE(ABORT, '{says}'); END"
            for name, act, when in changes
        )
    return (
        f"CREATE OR REPLACE FUNCTION learned_refuse() RETURNS trigger LANGUAGE plpgsql AS "
        f"$$ BEGIN RAISE EXCEPTION '{says}' USING ERRCODE = 'integrity_constraint_violation'; END $$",
        "CREATE TRIGGER learned_no_change BEFORE UPDATE OR DELETE ON learned FOR EACH ROW EXECUTE FUNCTION learned_refuse()",
        "CREATE TRIGGER learned_no_truncate BEFORE TRUNCATE ON learned FOR EACH STATEMENT EXECUTE FUNCTION learned_refuse()",
    )
