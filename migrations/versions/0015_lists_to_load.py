"""lists to load."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0015"
down_revision = "0014"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "list_import",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("subject", sa.String(length=32), nullable=False),
        sa.Column("file_name", sa.String(length=200), nullable=False),
        sa.Column("is_text", sa.Boolean(), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=True),
        sa.Column("reading", sa.JSON(), nullable=False),
        sa.Column("meant", sa.JSON(), nullable=True),
        sa.Column("options", sa.JSON(), nullable=True),
        sa.Column("brought", sa.JSON(), nullable=True),
        sa.Column("sent_by", sa.String(length=120), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("closed_at", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_list_import")),
    )
    op.create_index("ix_list_import_created_at_id", "list_import", ["created_at", "id"])
    op.create_index(op.f("ix_list_import_closed_at"), "list_import", ["closed_at"])
    op.create_table(
        "column_meaning",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("subject", sa.String(length=32), nullable=False),
        sa.Column("headings", sa.String(length=64), nullable=False),
        sa.Column("meant", sa.JSON(), nullable=False),
        sa.Column("used_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_column_meaning")),
    )
    op.create_index(
        "ix_column_meaning_subject_headings", "column_meaning", ["subject", "headings"], unique=True
    )


def downgrade() -> None:
    op.drop_table("column_meaning")
    op.drop_table("list_import")
