"""What undoing needs: which change another takes back or does again, and removed things that stay.

Adding a column and an index needs no copy of the table on either database.
"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

KEY = sa.String(32)
MOMENT = sa.String(24)


def upgrade() -> None:
    """Add the columns, and the indexes the new questions need."""
    op.add_column("household", sa.Column("removed_at", MOMENT, nullable=True))
    op.add_column("part", sa.Column("removed", sa.Boolean(), nullable=False, server_default=sa.false()))
    op.add_column("change_log", sa.Column("undoes", KEY, nullable=True))
    op.add_column("change_log", sa.Column("redoes", KEY, nullable=True))
    op.drop_index("ix_change_log_part_key", "change_log")
    op.create_index("ix_change_log_part_key", "change_log", ["part_key", "tab", "sequence"])
    op.create_index("ix_change_log_household_key", "change_log", ["household_key", "scenario_key", "revision"])


def downgrade() -> None:
    """Drop them; what was removed is there again then."""
    op.drop_index("ix_change_log_household_key", "change_log")
    op.drop_index("ix_change_log_part_key", "change_log")
    op.create_index("ix_change_log_part_key", "change_log", ["part_key"])
    op.drop_column("change_log", "redoes")
    op.drop_column("change_log", "undoes")
    op.drop_column("part", "removed")
    op.drop_column("household", "removed_at")
