"""the workshop's own words, its reasons, and the pattern of its days."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "own_text",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("slot", sa.String(length=120), nullable=False),
        sa.Column("language", sa.String(length=16), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("changed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("changed_by_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(
            ["changed_by_id"],
            ["person.id"],
            name=op.f("fk_own_text_changed_by_id_person"),
            ondelete="SET NULL",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_own_text")),
    )
    op.create_index("ix_own_text_slot_language_id", "own_text", ["slot", "language", "id"])
    op.create_table(
        "listed_reason",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("use", sa.String(length=32), nullable=False),
        sa.Column("key", sa.String(length=32), nullable=True),
        sa.Column("words", sa.String(length=300), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("retired", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_listed_reason")),
        sa.UniqueConstraint("use", "key", name=op.f("uq_listed_reason_use_key")),
    )
    op.create_table(
        "special_day",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("reason", sa.String(length=120), nullable=False),
        sa.Column("hours", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("minutes", sa.Integer(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_special_day")),
        sa.UniqueConstraint("day", name=op.f("uq_special_day_day")),
    )
    op.add_column("workshop", sa.Column("opening_week", sa.JSON(), nullable=True))
    op.add_column("workshop", sa.Column("season_first", sa.Date(), nullable=True))
    op.add_column("workshop", sa.Column("season_last", sa.Date(), nullable=True))


def downgrade() -> None:
    op.drop_column("workshop", "season_last")
    op.drop_column("workshop", "season_first")
    op.drop_column("workshop", "opening_week")
    op.drop_table("special_day")
    op.drop_table("listed_reason")
    op.drop_table("own_text")
