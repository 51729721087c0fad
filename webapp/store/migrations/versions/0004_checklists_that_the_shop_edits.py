"""Checklists that the shop edits"""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

PAUSES = ("before investing", "before kiln start", "before melting", "before the pour", "before quench and devest")
READINGS = ("none", "temperature", "mass", "pressure")


def upgrade() -> None:
    op.create_table(
        "checklist_point",
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("updated_at", sa.DateTime(), nullable=False),
        sa.Column("archived_at", sa.DateTime(), nullable=True),
        sa.Column("id", sa.String(), nullable=False),
        sa.Column(
            "pause",
            sa.Enum(*PAUSES, name="pause", native_enum=False, create_constraint=True, length=40),
            nullable=False,
        ),
        sa.Column("text", sa.String(), nullable=True),
        sa.Column("why", sa.String(), nullable=True),
        sa.Column("required", sa.Boolean(), nullable=True),
        sa.Column(
            "reading",
            sa.Enum(*READINGS, name="reading", native_enum=False, create_constraint=True, length=40),
            nullable=True,
        ),
        sa.Column("dropped", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("conditions", sa.Text(), nullable=False),
        sa.CheckConstraint("position >= 0", name=op.f("ck_checklist_point_position_at_least_0")),
        sa.CheckConstraint("length(text) BETWEEN 1 AND 89", name=op.f("ck_checklist_point_text_is_short")),
        sa.CheckConstraint("length(why) <= 160", name=op.f("ck_checklist_point_why_is_short")),
        sa.CheckConstraint(
            "substr(id, 1, 4) <> 'own-' OR (text IS NOT NULL AND required IS NOT NULL AND reading IS NOT NULL)",
            name=op.f("ck_checklist_point_own_is_whole"),
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_checklist_point")),
    )


def downgrade() -> None:
    op.drop_table("checklist_point")
