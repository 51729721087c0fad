"""The units, numbers, days and hours that people read"""

import sqlalchemy as sa
from alembic import op

revision = "0021"
down_revision = "0020"
branch_labels = None
depends_on = None

CHOICES = {
    "metal": ("g", "dwt", "ozt"),
    "investment": ("g", "lb"),
    "lengths": ("mm", "in"),
    "volumes": ("cm³", "in³"),
    "degrees": ("°C", "°F"),
    "numbers": ("1 234.5", "1,234.5", "1.234,5", "1 234,5"),
    "days": ("26 Nov", "Nov 26"),
    "hours": ("14:05", "2:05 pm"),
}


def _one_of(name: str) -> sa.Column[str]:
    kind = sa.Enum(*CHOICES[name], name=name, native_enum=False, create_constraint=True, length=40)
    return sa.Column(name, kind, nullable=False)


def upgrade() -> None:
    op.create_table(
        "ways",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("account", sa.Integer(), nullable=True),
        *(_one_of(name) for name in CHOICES),
        sa.ForeignKeyConstraint(["account"], ["account.id"], name=op.f("fk_ways_account")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ways")),
        sa.UniqueConstraint("account", name=op.f("uq_ways_account")),
    )


def downgrade() -> None:
    op.drop_table("ways")
