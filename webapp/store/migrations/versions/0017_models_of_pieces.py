"""Models of pieces: figures and a picture"""

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "model",
        sa.Column("id", sa.String(), nullable=False),
        sa.Column("job", sa.String(), nullable=True),
        sa.Column("brought_at", sa.DateTime(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("digest", sa.String(), nullable=False),
        sa.Column("stated", sa.Text(), nullable=True),
        sa.Column("unit", sa.Text(), nullable=True),
        sa.Column("shape", sa.Text(), nullable=False),
        sa.Column("picture", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["job"], ["job.id"], name=op.f("fk_model_job")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_model")),
        sa.UniqueConstraint("job", name=op.f("uq_model_job")),
    )


def downgrade() -> None:
    op.drop_table("model")
