"""Nights of a kiln and hours of a person on single days"""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("kiln", sa.Column("nights", sa.Text(), server_default="[]", nullable=False))
    op.add_column("person", sa.Column("other_hours", sa.Text(), server_default="[]", nullable=False))


def downgrade() -> None:
    op.drop_column("person", "other_hours")
    op.drop_column("kiln", "nights")
