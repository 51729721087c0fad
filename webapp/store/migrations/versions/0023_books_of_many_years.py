"""Indexes that hold the masses, so that books of many years are added up without reading their entries"""

from alembic import op

revision = "0023"
down_revision = "0022"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_index("ix_ledger_posting_account_ref_entry_mass", "ledger_posting", ["account", "ref", "entry", "mass"])
    op.drop_index("ix_ledger_posting_account_ref_entry", "ledger_posting")
    op.create_index("ix_ledger_balance_account_mass", "ledger_balance", ["account", "mass"])


def downgrade() -> None:
    op.drop_index("ix_ledger_balance_account_mass", "ledger_balance")
    op.create_index("ix_ledger_posting_account_ref_entry", "ledger_posting", ["account", "ref", "entry"])
    op.drop_index("ix_ledger_posting_account_ref_entry_mass", "ledger_posting")
