"""Accounts, tablets and sign-ins"""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

ROLES = ("owner", "manager", "caster", "board")


def upgrade() -> None:
    op.create_table(
        "account",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("role", sa.Enum(*ROLES, name="role", native_enum=False, create_constraint=True, length=40), nullable=False),
        sa.Column("person", sa.String(), nullable=True),
        sa.Column("password", sa.String(), nullable=True),
        sa.Column("pin", sa.String(), nullable=True),
        sa.Column("ended", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["person"], ["person.id"], name=op.f("fk_account_person")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_account")),
        sa.UniqueConstraint("name", name=op.f("uq_account_name")),
    )
    op.create_table(
        "tablet",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("token", sa.String(), nullable=False),
        sa.Column("revoked", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_tablet")),
        sa.UniqueConstraint("token", name=op.f("uq_tablet_token")),
    )
    op.create_table(
        "sign_in",
        sa.Column("token", sa.String(), nullable=False),
        sa.Column("account", sa.Integer(), nullable=False),
        sa.Column("tablet", sa.Integer(), nullable=True),
        sa.Column("until", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["account"], ["account.id"], name=op.f("fk_sign_in_account")),
        sa.ForeignKeyConstraint(["tablet"], ["tablet.id"], name=op.f("fk_sign_in_tablet")),
        sa.PrimaryKeyConstraint("token", name=op.f("pk_sign_in")),
    )
    op.create_index(op.f("ix_sign_in_account"), "sign_in", ["account"])
    op.create_index(op.f("ix_sign_in_tablet"), "sign_in", ["tablet"])
    op.create_table(
        "wrong_tries",
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("wrong", sa.Integer(), nullable=False),
        sa.Column("until", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_wrong_tries")),
    )


def downgrade() -> None:
    for table in ("wrong_tries", "sign_in", "tablet", "account"):
        op.drop_table(table)
