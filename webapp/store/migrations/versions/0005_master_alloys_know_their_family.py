"""Master alloys know the crucible family that they are made for"""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("metal", sa.Column("family", sa.String(), nullable=True))


def downgrade() -> None:
    with op.batch_alter_table("metal") as metal:
        metal.drop_column("family")
