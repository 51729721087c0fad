"""Whether a copy is made each day, and how many of these are kept"""

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "copy_rule",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("daily", sa.Boolean(), nullable=False),
        sa.Column("keep", sa.Integer(), nullable=False),
        sa.CheckConstraint("id = 1", name=op.f("ck_copy_rule_one_row")),
        sa.CheckConstraint("keep BETWEEN 1 AND 365", name=op.f("ck_copy_rule_keep_in_range")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_copy_rule")),
    )


def downgrade() -> None:
    op.drop_table("copy_rule")
