"""Years of sun that households keep, each a row with its days compressed."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

KEY = sa.String(32)
MOMENT = sa.String(24)


def upgrade() -> None:
    """Add the table."""
    op.create_table(
        "weather_record",
        sa.Column("key", KEY, nullable=False),
        sa.Column("household_key", KEY, nullable=False),
        sa.Column("source", sa.String(200), nullable=False),
        sa.Column("at_utc", MOMENT, nullable=False),
        sa.Column("summary", sa.Text(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["household_key"], ["household.key"], name="fk_weather_record_household_key"),
        sa.PrimaryKeyConstraint("key", name="pk_weather_record"),
    )
    op.create_index("ix_weather_record_household_key", "weather_record", ["household_key"])


def downgrade() -> None:
    """Drop it, and the parts that name its rows."""
    op.execute("DELETE FROM part WHERE kind = 'weather'")
    op.drop_index("ix_weather_record_household_key", "weather_record")
    op.drop_table("weather_record")
