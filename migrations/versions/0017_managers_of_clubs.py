"""managers of clubs are invited; details of clubs."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0017"
down_revision = "0016"
branch_labels = None
depends_on = None

TO_WORK_HERE = sa.text("club_id IS NULL")


def upgrade() -> None:
    with op.batch_alter_table("invitation") as batch_op:
        batch_op.drop_constraint(batch_op.f("uq_invitation_email"), type_="unique")
        batch_op.alter_column("role", existing_type=sa.String(length=32), nullable=True)
        batch_op.add_column(sa.Column("club_id", sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column("hands_over", sa.Boolean(), server_default=sa.false(), nullable=False))
        batch_op.create_foreign_key(
            batch_op.f("fk_invitation_club_id_club"), "club", ["club_id"], ["id"], ondelete="CASCADE"
        )
        batch_op.create_check_constraint(
            batch_op.f("ck_invitation_to_one_thing"), "(role IS NULL) <> (club_id IS NULL)"
        )
    op.create_index(
        "uq_invitation_email_to_work_here",
        "invitation",
        ["email"],
        unique=True,
        sqlite_where=TO_WORK_HERE,
        postgresql_where=TO_WORK_HERE,
    )
    op.create_index("uq_invitation_club_id_email", "invitation", ["club_id", "email"], unique=True)
    with op.batch_alter_table("club") as batch_op:
        batch_op.add_column(
            sa.Column("invoice_name", sa.String(length=120), server_default=sa.text("''"), nullable=False)
        )
        batch_op.add_column(
            sa.Column("invoice_address", sa.Text(), server_default=sa.text("''"), nullable=False)
        )
        batch_op.add_column(
            sa.Column("invoice_email", sa.String(length=320), server_default=sa.text("''"), nullable=False)
        )
        batch_op.add_column(
            sa.Column("tax_number", sa.String(length=40), server_default=sa.text("''"), nullable=False)
        )
        batch_op.add_column(
            sa.Column("buyer_reference", sa.String(length=80), server_default=sa.text("''"), nullable=False)
        )
        batch_op.add_column(sa.Column("hand_in_place_id", sa.Integer(), nullable=True))
        batch_op.create_foreign_key(
            batch_op.f("fk_club_hand_in_place_id_hand_in_place"),
            "hand_in_place",
            ["hand_in_place_id"],
            ["id"],
            ondelete="SET NULL",
        )


def downgrade() -> None:
    with op.batch_alter_table("club") as batch_op:
        batch_op.drop_constraint(batch_op.f("fk_club_hand_in_place_id_hand_in_place"), type_="foreignkey")
        for column in (
            "hand_in_place_id",
            "buyer_reference",
            "tax_number",
            "invoice_email",
            "invoice_address",
            "invoice_name",
        ):
            batch_op.drop_column(column)
    # What was to a club had no place before.
    op.execute("DELETE FROM invitation WHERE club_id IS NOT NULL")
    op.drop_index("uq_invitation_club_id_email", "invitation")
    op.drop_index("uq_invitation_email_to_work_here", "invitation")
    with op.batch_alter_table("invitation") as batch_op:
        batch_op.drop_constraint(batch_op.f("ck_invitation_to_one_thing"), type_="check")
        batch_op.drop_constraint(batch_op.f("fk_invitation_club_id_club"), type_="foreignkey")
        batch_op.drop_column("hands_over")
        batch_op.drop_column("club_id")
        batch_op.alter_column("role", existing_type=sa.String(length=32), nullable=False)
        batch_op.create_unique_constraint(batch_op.f("uq_invitation_email"), ["email"])
