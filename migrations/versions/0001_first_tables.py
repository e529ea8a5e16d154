"""The first tables: households in parts, the log of every change, links.

Types are written out here and not taken from the program, which may change them later.
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

KEY = sa.String(32)
MOMENT = sa.String(24)
JSON = sa.Text()


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "household",
        sa.Column("key", KEY, nullable=False),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("created_at", MOMENT, nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("change_id", KEY, nullable=False),
        sa.PrimaryKeyConstraint("key", name="pk_household"),
    )
    op.create_table(
        "part",
        sa.Column("key", KEY, nullable=False),
        sa.Column("household_key", KEY, nullable=False),
        sa.Column("within_key", KEY, nullable=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("name", sa.String(100), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("document", JSON, nullable=False),
        sa.PrimaryKeyConstraint("key", name="pk_part"),
        sa.ForeignKeyConstraint(["household_key"], ["household.key"], name="fk_part_household_key"),
        sa.UniqueConstraint("within_key", "kind", "name", name="uq_part_within_key"),
    )
    op.create_index("ix_part_household_key", "part", ["household_key"])
    op.create_table(
        "change_log",
        sa.Column("id", KEY, nullable=False),
        sa.Column("household_key", KEY, nullable=True),
        sa.Column("scenario_key", KEY, nullable=True),
        sa.Column("part_key", KEY, nullable=True),
        sa.Column("field", sa.String(100), nullable=True),
        sa.Column("at_utc", MOMENT, nullable=False),
        sa.Column("link_key", KEY, nullable=True),
        sa.Column("tab", sa.String(64), nullable=True),
        sa.Column("sequence", sa.BigInteger(), nullable=True),
        sa.Column("command", JSON, nullable=False),
        sa.Column("inverse", JSON, nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_change_log"),
        sa.UniqueConstraint("household_key", "revision", name="uq_change_log_household_key"),
    )
    op.create_index("ix_change_log_part_key", "change_log", ["part_key"])
    op.create_table(
        "link",
        sa.Column("key", KEY, nullable=False),
        sa.Column("token_sha256", sa.String(64), nullable=False),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("scope", sa.String(10), nullable=False),
        sa.Column("household_key", KEY, nullable=True),
        sa.Column("created_at", MOMENT, nullable=False),
        sa.Column("last_used_at", MOMENT, nullable=True),
        sa.Column("revoked_at", MOMENT, nullable=True),
        sa.PrimaryKeyConstraint("key", name="pk_link"),
        sa.ForeignKeyConstraint(["household_key"], ["household.key"], name="fk_link_household_key"),
        sa.UniqueConstraint("token_sha256", name="uq_link_token_sha256"),
    )


def downgrade() -> None:
    """Drop the tables and everything in them."""
    op.drop_table("link")
    op.drop_table("change_log")
    op.drop_table("part")
    op.drop_table("household")
