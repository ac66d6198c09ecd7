"""people who erased their accounts: pairs of nobody, the row that stands for them, and how long invoices name them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0025"
down_revision = "0024"
branch_labels = None
depends_on = None

ONE_OF_TWO = "(owner_id IS NULL AND club_id IS NOT NULL) OR (owner_id IS NOT NULL AND club_id IS NULL)"


def upgrade() -> None:
    with op.batch_alter_table("person") as batch_op:
        batch_op.add_column(sa.Column("is_erased", sa.Boolean(), server_default=sa.false(), nullable=False))
    with op.batch_alter_table("outbox_letter") as batch_op:
        batch_op.add_column(sa.Column("is_last", sa.Boolean(), server_default=sa.false(), nullable=False))
    with op.batch_alter_table("workshop") as batch_op:
        batch_op.add_column(
            sa.Column("keep_invoices_years", sa.Integer(), server_default="10", nullable=False)
        )
    with op.batch_alter_table("invoice") as batch_op:
        batch_op.add_column(sa.Column("is_nameless", sa.Boolean(), server_default=sa.false(), nullable=False))
    with op.batch_alter_table("pair") as batch_op:
        batch_op.drop_constraint(batch_op.f("ck_pair_one_owner"), type_="check")
        batch_op.create_check_constraint(
            batch_op.f("ck_pair_one_owner"), "owner_id IS NULL OR club_id IS NULL"
        )


def downgrade() -> None:
    # What has no name before.
    op.execute("DELETE FROM audit_entry WHERE act IN ('taken_along', 'account_erased', 'pair_taken_on')")
    # Pairs of nobody are those of the row that stands for everybody who is gone.
    op.execute(
        "UPDATE pair SET owner_id = (SELECT id FROM person WHERE is_erased)"
        " WHERE owner_id IS NULL AND club_id IS NULL"
    )
    with op.batch_alter_table("pair") as batch_op:
        batch_op.drop_constraint(batch_op.f("ck_pair_one_owner"), type_="check")
        batch_op.create_check_constraint(batch_op.f("ck_pair_one_owner"), ONE_OF_TWO)
    with op.batch_alter_table("invoice") as batch_op:
        batch_op.drop_column("is_nameless")
    with op.batch_alter_table("workshop") as batch_op:
        batch_op.drop_column("keep_invoices_years")
    with op.batch_alter_table("outbox_letter") as batch_op:
        batch_op.drop_column("is_last")
    with op.batch_alter_table("person") as batch_op:
        batch_op.drop_column("is_erased")
