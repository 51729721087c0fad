"""The language in which people read"""

import sqlalchemy as sa
from alembic import op

revision = "0024"
down_revision = "0023"
branch_labels = None
depends_on = None

LANGUAGES = ("English", "Deutsch", "Español")


def upgrade() -> None:
    kind = sa.Enum(*LANGUAGES, name="language", native_enum=False, create_constraint=True, length=40)
    with op.batch_alter_table("ways") as table:
        table.add_column(sa.Column("language", kind, nullable=False, server_default="English"))
    with op.batch_alter_table("ways") as table:
        table.alter_column("language", server_default=None)


def downgrade() -> None:
    with op.batch_alter_table("ways") as table:
        table.drop_column("language")
