"""Access for other software"""

import sqlalchemy as sa
from alembic import op

revision = "0020"
down_revision = "0019"
branch_labels = None
depends_on = None

ROLES = ("owner", "manager", "caster", "board")


def upgrade() -> None:
    op.create_table(
        "access",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("role", sa.Enum(*ROLES, name="role", native_enum=False, create_constraint=True, length=40), nullable=False),
        sa.Column("token", sa.String(), nullable=False),
        sa.Column("maker", sa.Integer(), nullable=True),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("used_on", sa.String(), nullable=False),
        sa.ForeignKeyConstraint(["maker"], ["account.id"], name=op.f("fk_access_maker")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_access")),
        sa.UniqueConstraint("name", name=op.f("uq_access_name")),
        sa.UniqueConstraint("token", name=op.f("uq_access_token")),
    )
    op.create_index(op.f("ix_access_maker"), "access", ["maker"])


def downgrade() -> None:
    op.drop_table("access")
