"""What changes that carry a key were answered, so that they happen once"""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "kept_answer",
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("path", sa.String(), nullable=False),
        sa.Column("who", sa.String(), nullable=False),
        sa.Column("digest", sa.String(), nullable=False),
        sa.Column("status", sa.Integer(), nullable=False),
        sa.Column("location", sa.String(), nullable=False),
        sa.Column("said", sa.String(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_kept_answer")),
    )
    op.create_index(op.f("ix_kept_answer_at"), "kept_answer", ["at"])


def downgrade() -> None:
    op.drop_index(op.f("ix_kept_answer_at"), table_name="kept_answer")
    op.drop_table("kept_answer")
