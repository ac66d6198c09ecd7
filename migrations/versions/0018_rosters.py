"""rosters: what juniors ski, codes for their pairs, lists of juniors, what was agreed with a club."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0018"
down_revision = "0017"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("junior") as batch_op:
        batch_op.add_column(sa.Column("discipline", sa.String(length=32), nullable=True))
        batch_op.add_column(sa.Column("weight_kg", sa.Integer(), nullable=True))
        batch_op.create_index(batch_op.f("ix_junior_left_at"), ["left_at"])
    op.create_table(
        "pair_claim",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("junior_id", sa.Integer(), nullable=False),
        sa.Column("code_hash", sa.String(length=64), nullable=False),
        sa.Column("until", sa.DateTime(timezone=True), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["junior_id"], ["junior.id"], name=op.f("fk_pair_claim_junior_id_junior"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pair_claim")),
        sa.UniqueConstraint("code_hash", name=op.f("uq_pair_claim_code_hash")),
        sa.UniqueConstraint("junior_id", name=op.f("uq_pair_claim_junior_id")),
    )
    with op.batch_alter_table("list_import") as batch_op:
        batch_op.add_column(sa.Column("club_id", sa.Integer(), nullable=True))
        batch_op.create_foreign_key(
            batch_op.f("fk_list_import_club_id_club"), "club", ["club_id"], ["id"], ondelete="CASCADE"
        )
        batch_op.create_index(batch_op.f("ix_list_import_club_id"), ["club_id"])
    with op.batch_alter_table("club") as batch_op:
        batch_op.add_column(
            sa.Column("agreed_percent", sa.Numeric(precision=5, scale=2), server_default="0", nullable=False)
        )
        batch_op.add_column(sa.Column("agreed_until", sa.Date(), nullable=True))


def downgrade() -> None:
    with op.batch_alter_table("club") as batch_op:
        batch_op.drop_column("agreed_until")
        batch_op.drop_column("agreed_percent")
    # What a club sent had no place before.
    op.execute("DELETE FROM list_import WHERE club_id IS NOT NULL")
    with op.batch_alter_table("list_import") as batch_op:
        batch_op.drop_index(batch_op.f("ix_list_import_club_id"))
        batch_op.drop_constraint(batch_op.f("fk_list_import_club_id_club"), type_="foreignkey")
        batch_op.drop_column("club_id")
    op.drop_table("pair_claim")
    with op.batch_alter_table("junior") as batch_op:
        batch_op.drop_index(batch_op.f("ix_junior_left_at"))
        batch_op.drop_column("weight_kg")
        batch_op.drop_column("discipline")
