"""How far a new shop's set-up has come"""

import sqlalchemy as sa
from alembic import op

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "setup_step",
        sa.Column("step", sa.String(), nullable=False),
        sa.Column("how", sa.String(), nullable=False),
        sa.CheckConstraint("how IN ('saved', 'skipped')", name=op.f("ck_setup_step_how_known")),
        sa.PrimaryKeyConstraint("step", name=op.f("pk_setup_step")),
    )


def downgrade() -> None:
    op.drop_table("setup_step")
