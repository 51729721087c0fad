"""Lists of jobs that are being brought in"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "intake_draft",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("brought_at", sa.DateTime(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("delimiter", sa.String(), nullable=False),
        sa.Column("encoding", sa.String(), nullable=False),
        sa.Column("heading", sa.Integer(), nullable=True),
        sa.Column("records", sa.Text(), nullable=False),
        sa.Column("columns", sa.Text(), nullable=False),
        sa.Column("answers", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_intake_draft")),
    )
    op.create_table(
        "intake_memory",
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("word", sa.String(), nullable=False),
        sa.Column("meaning", sa.String(), nullable=False),
        sa.Column("asked", sa.String(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("kind", "word", name=op.f("pk_intake_memory")),
    )


def downgrade() -> None:
    op.drop_table("intake_memory")
    op.drop_table("intake_draft")
