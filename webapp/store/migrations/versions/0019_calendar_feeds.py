"""Addresses under which calendars outside read the week"""

import sqlalchemy as sa
from alembic import op

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "calendar_feed",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("token", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_calendar_feed")),
        sa.UniqueConstraint("name", name=op.f("uq_calendar_feed_name")),
        sa.UniqueConstraint("token", name=op.f("uq_calendar_feed_token")),
    )


def downgrade() -> None:
    op.drop_table("calendar_feed")
