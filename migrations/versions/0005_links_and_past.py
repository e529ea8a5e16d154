"""Links that end, or show one plan alone; and every part as each change left it."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None

KEY = sa.String(32)
MOMENT = sa.String(24)


def upgrade() -> None:
    """Add the columns and the table; what there is by now is the first that is known of each part."""
    op.add_column("link", sa.Column("scenario_key", KEY, nullable=True))
    op.add_column("link", sa.Column("expires_at", MOMENT, nullable=True))
    op.create_table(
        "past_part",
        sa.Column("part_key", KEY, nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False, autoincrement=False),
        sa.Column("household_key", KEY, nullable=False),
        sa.Column("within_key", KEY, nullable=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("name", sa.String(100), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("removed", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["household_key"], ["household.key"], name="fk_past_part_household_key"),
        sa.PrimaryKeyConstraint("part_key", "revision", name="pk_past_part"),
    )
    op.create_index("ix_past_part_household_key", "past_part", ["household_key", "revision"])
    op.create_index("ix_past_part_within_key", "past_part", ["within_key"])
    columns = "revision, household_key, within_key, kind, name, position, document, removed"
    op.execute(f"INSERT INTO past_part (part_key, {columns}) SELECT key, {columns} FROM part")


def downgrade() -> None:
    """Drop them; a link for one plan alone would show more then, so it goes too."""
    op.execute("DELETE FROM link WHERE scenario_key IS NOT NULL OR expires_at IS NOT NULL")
    op.drop_index("ix_past_part_within_key", "past_part")
    op.drop_index("ix_past_part_household_key", "past_part")
    op.drop_table("past_part")
    op.drop_column("link", "expires_at")
    op.drop_column("link", "scenario_key")
