"""care advice of the workshop's own, and shipped advice that is not given."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0026"
down_revision = "0025"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "own_care_rule",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(length=80), nullable=True),
        sa.Column("stage", sa.String(length=32), nullable=True),
        sa.Column("condition", sa.String(length=300), server_default=sa.text("''"), nullable=False),
        sa.Column("advice", sa.Text(), server_default=sa.text("''"), nullable=False),
        sa.Column("caution", sa.Text(), server_default=sa.text("''"), nullable=False),
        sa.Column("source", sa.String(length=300), server_default=sa.text("''"), nullable=False),
        sa.Column("families", sa.JSON(), nullable=False),
        sa.Column("disciplines", sa.JSON(), nullable=False),
        sa.Column("grips", sa.JSON(), nullable=False),
        sa.Column("snow", sa.JSON(), nullable=False),
        sa.Column("only_thin", sa.Boolean(), nullable=False),
        sa.Column("retired", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_own_care_rule")),
        sa.UniqueConstraint("key", name=op.f("uq_own_care_rule_key")),
    )


def downgrade() -> None:
    op.drop_table("own_care_rule")
