"""Trees that were weighed, and the charges that were planned before."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "tree_weighing",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("flask", sa.String(), nullable=False),
        sa.Column("gross", sa.BigInteger(), nullable=False),
        sa.Column("base", sa.BigInteger(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("who", sa.String(), nullable=False),
        sa.Column("key", sa.String(), nullable=True),
        sa.CheckConstraint("gross >= 1", name=op.f("ck_tree_weighing_gross_at_least_1")),
        sa.CheckConstraint("base >= 0", name=op.f("ck_tree_weighing_base_at_least_0")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_tree_weighing")),
        sa.UniqueConstraint("key", name=op.f("uq_tree_weighing_key")),
    )
    op.create_index(op.f("ix_tree_weighing_flask"), "tree_weighing", ["flask"])
    op.create_table(
        "charge_before",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("flask", sa.String(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("asked", sa.BigInteger(), nullable=False),
        sa.Column("parts", sa.Text(), nullable=False),
        sa.Column("fineness", sa.BigInteger(), nullable=True),
        sa.CheckConstraint("asked >= 0", name=op.f("ck_charge_before_asked_at_least_0")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_charge_before")),
    )
    op.create_index(op.f("ix_charge_before_flask"), "charge_before", ["flask"])


def downgrade() -> None:
    op.drop_table("charge_before")
    op.drop_table("tree_weighing")
