"""age classes of clubs, and answers to the snow questions for one of them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0021"
down_revision = "0020"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "age_class",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("club_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=40), nullable=False),
        sa.Column("first_year", sa.Integer(), nullable=False),
        sa.Column("last_year", sa.Integer(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint("first_year <= last_year", name=op.f("ck_age_class_years_in_order")),
        sa.ForeignKeyConstraint(
            ["club_id"], ["club.id"], name=op.f("fk_age_class_club_id_club"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_age_class")),
        sa.UniqueConstraint("club_id", "name", name=op.f("uq_age_class_club_id_name")),
    )
    with op.batch_alter_table("snow_answers") as batch_op:
        batch_op.add_column(sa.Column("age_class_id", sa.Integer(), nullable=True))
        batch_op.create_index(batch_op.f("ix_snow_answers_age_class_id"), ["age_class_id"], unique=False)
        batch_op.create_foreign_key(
            batch_op.f("fk_snow_answers_age_class_id_age_class"),
            "age_class",
            ["age_class_id"],
            ["id"],
            ondelete="CASCADE",
        )


def downgrade() -> None:
    # What has no name before.
    op.execute("DELETE FROM booking_event WHERE event IN ('added', 'swapped', 'other_work')")
    # They stand for no club as a whole: what was answered stays with whoever answered.
    op.execute("UPDATE snow_answers SET club_id = NULL WHERE age_class_id IS NOT NULL")
    with op.batch_alter_table("snow_answers") as batch_op:
        batch_op.drop_constraint(batch_op.f("fk_snow_answers_age_class_id_age_class"), type_="foreignkey")
        batch_op.drop_index(batch_op.f("ix_snow_answers_age_class_id"))
        batch_op.drop_column("age_class_id")
    op.drop_table("age_class")
