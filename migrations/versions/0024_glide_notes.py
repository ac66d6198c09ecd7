"""times of glide notes, which were written at once, and why some do not count."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0024"
down_revision = "0023"
branch_labels = None
depends_on = None

COUNTED = ["set_aside", "structure_id", "other_structure_id", "kind", "moisture", "person_id", "outcome"]


def upgrade() -> None:
    with op.batch_alter_table("glide_note") as batch_op:
        batch_op.add_column(sa.Column("timed", sa.JSON(), nullable=True))
        batch_op.add_column(sa.Column("outing", sa.String(length=43), nullable=True))
        batch_op.add_column(sa.Column("set_aside", sa.String(length=32), nullable=True))
        batch_op.add_column(
            sa.Column("set_aside_words", sa.Text(), server_default=sa.text("''"), nullable=False)
        )
        batch_op.create_unique_constraint(batch_op.f("uq_glide_note_outing_pair_id"), ["outing", "pair_id"])
        batch_op.create_index("ix_glide_note_counted", COUNTED, unique=False)


def downgrade() -> None:
    # What was kept and not counted would count again.
    op.execute("DELETE FROM glide_note WHERE set_aside IS NOT NULL")
    with op.batch_alter_table("glide_note") as batch_op:
        batch_op.drop_index("ix_glide_note_counted")
        batch_op.drop_constraint(batch_op.f("uq_glide_note_outing_pair_id"), type_="unique")
        batch_op.drop_column("set_aside_words")
        batch_op.drop_column("set_aside")
        batch_op.drop_column("outing")
        batch_op.drop_column("timed")
