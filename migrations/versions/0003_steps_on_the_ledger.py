"""steps on the ledger.

What is committed already stays as it is: one step of a pair without the name of a layer, on days for which no dressing
was reckoned. ``rillbook workshop set --dress-minutes`` reckons such days anew.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("commitment", schema=None) as batch_op:
        batch_op.add_column(sa.Column("step", sa.Integer(), server_default="0", nullable=False))
        batch_op.add_column(
            sa.Column("layer", sa.String(length=80), server_default="unknown", nullable=False)
        )
        batch_op.add_column(sa.Column("grinder", sa.Integer(), server_default="0", nullable=False))
        batch_op.drop_constraint(batch_op.f("uq_commitment_booking_item_id"), type_="unique")
        batch_op.create_unique_constraint(
            batch_op.f("uq_commitment_booking_item_id_step"), ["booking_item_id", "step"]
        )
    with op.batch_alter_table("work_day", schema=None) as batch_op:
        batch_op.add_column(sa.Column("grinders", sa.Integer(), server_default="1", nullable=False))
        batch_op.add_column(sa.Column("dress_minutes", sa.Integer(), server_default="0", nullable=False))
        batch_op.add_column(sa.Column("life_pairs", sa.Integer(), server_default="25", nullable=False))
        batch_op.drop_constraint(batch_op.f("ck_work_day_never_oversold"), type_="check")
        batch_op.create_check_constraint(
            batch_op.f("ck_work_day_never_oversold"), "minutes_committed <= minutes_available * grinders"
        )
        batch_op.create_check_constraint(batch_op.f("ck_work_day_a_dressing_serves"), "life_pairs > 0")
    with op.batch_alter_table("workshop", schema=None) as batch_op:
        batch_op.add_column(sa.Column("grinders", sa.Integer(), server_default="1", nullable=False))
        batch_op.add_column(sa.Column("dress_minutes", sa.Integer(), server_default="12", nullable=False))
        batch_op.add_column(sa.Column("life_pairs", sa.Integer(), server_default="25", nullable=False))


def downgrade() -> None:
    with op.batch_alter_table("workshop", schema=None) as batch_op:
        batch_op.drop_column("life_pairs")
        batch_op.drop_column("dress_minutes")
        batch_op.drop_column("grinders")
    # A pair has one commitment again: its last step, since on that day it is ready.
    op.execute(
        "DELETE FROM commitment WHERE EXISTS (SELECT 1 FROM commitment later"
        " WHERE later.booking_item_id = commitment.booking_item_id AND later.step > commitment.step)"
    )
    op.execute(
        "UPDATE work_day SET minutes_available = minutes_available * grinders, minutes_committed ="
        " COALESCE((SELECT SUM(minutes) FROM commitment WHERE commitment.work_day_id = work_day.id), 0)"
    )
    with op.batch_alter_table("work_day", schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f("ck_work_day_a_dressing_serves"), type_="check")
        batch_op.drop_constraint(batch_op.f("ck_work_day_never_oversold"), type_="check")
        batch_op.create_check_constraint(
            batch_op.f("ck_work_day_never_oversold"), "minutes_committed <= minutes_available"
        )
        batch_op.drop_column("life_pairs")
        batch_op.drop_column("dress_minutes")
        batch_op.drop_column("grinders")
    with op.batch_alter_table("commitment", schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f("uq_commitment_booking_item_id_step"), type_="unique")
        batch_op.create_unique_constraint(batch_op.f("uq_commitment_booking_item_id"), ["booking_item_id"])
        batch_op.drop_column("grinder")
        batch_op.drop_column("layer")
        batch_op.drop_column("step")
