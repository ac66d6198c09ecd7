"""the letter of a season: who agreed to it, its rounds, who got it."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0023"
down_revision = "0022"
branch_labels = None
depends_on = None

AGREED = sa.text("season_letter_since IS NOT NULL")

IS_OPEN = sa.text("finished_at IS NULL")


def upgrade() -> None:
    op.create_table(
        "season_round",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("season", sa.Integer(), nullable=False),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("asked_by_id", sa.Integer(), nullable=True),
        sa.Column("written", sa.Integer(), server_default="0", nullable=False),
        sa.Column("finished_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["asked_by_id"],
            ["person.id"],
            name=op.f("fk_season_round_asked_by_id_person"),
            ondelete="SET NULL",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_season_round")),
    )
    op.create_index(op.f("ix_season_round_asked_by_id"), "season_round", ["asked_by_id"], unique=False)
    op.create_index(
        "uq_season_round_season_open",
        "season_round",
        ["season"],
        unique=True,
        sqlite_where=IS_OPEN,
        postgresql_where=IS_OPEN,
    )
    op.create_table(
        "season_letter",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("season", sa.Integer(), nullable=False),
        sa.Column("token", sa.String(length=64), nullable=False),
        sa.Column("written_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_season_letter_person_id_person"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_season_letter")),
        sa.UniqueConstraint("person_id", "season", name=op.f("uq_season_letter_person_id_season")),
        sa.UniqueConstraint("token", name=op.f("uq_season_letter_token")),
    )
    with op.batch_alter_table("person") as batch_op:
        batch_op.add_column(sa.Column("season_letter_since", sa.DateTime(timezone=True), nullable=True))
    op.create_index(
        "ix_person_agreed", "person", ["id"], unique=False, sqlite_where=AGREED, postgresql_where=AGREED
    )
    with op.batch_alter_table("outbox_letter") as batch_op:
        batch_op.add_column(
            sa.Column("stop_page", sa.String(length=200), server_default=sa.text("''"), nullable=False)
        )


def downgrade() -> None:
    # What has no name before.
    op.execute("DELETE FROM audit_entry WHERE act = 'season_letter_sent'")
    with op.batch_alter_table("outbox_letter") as batch_op:
        batch_op.drop_column("stop_page")
    op.drop_index("ix_person_agreed", table_name="person")
    with op.batch_alter_table("person") as batch_op:
        batch_op.drop_column("season_letter_since")
    op.drop_table("season_letter")
    op.drop_table("season_round")
