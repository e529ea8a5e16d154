"""What people say is on or off today, beside their plan."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

KEY = sa.String(32)
MOMENT = sa.String(24)


def upgrade() -> None:
    """Add the table."""
    op.create_table(
        "tap",
        sa.Column("key", KEY, nullable=False),
        sa.Column("household_key", KEY, nullable=False),
        sa.Column("scenario_key", KEY, nullable=False),
        sa.Column("date", sa.String(10), nullable=False),
        sa.Column("appliance", sa.String(100), nullable=False),
        sa.Column("is_on", sa.Boolean(), nullable=False),
        sa.Column("at_utc", MOMENT, nullable=False),
        sa.Column("who", sa.String(200), nullable=False),
        sa.Column("tab", sa.String(64), nullable=False),
        sa.Column("sequence", sa.BigInteger(), nullable=False),
        sa.ForeignKeyConstraint(["household_key"], ["household.key"], name="fk_tap_household_key"),
        sa.PrimaryKeyConstraint("key", name="pk_tap"),
    )
    op.create_index("ix_tap_of_day", "tap", ["household_key", "scenario_key", "date"])


def downgrade() -> None:
    """Drop it."""
    op.drop_index("ix_tap_of_day", "tap")
    op.drop_table("tap")
