"""holds that lapse.

Requests and offers that wait already are held without a limit, as they were promised.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    with op.batch_alter_table("booking", schema=None) as batch_op:
        batch_op.add_column(sa.Column("held_until", sa.DateTime(timezone=True), nullable=True))
        batch_op.add_column(sa.Column("lapsed", sa.Boolean(), server_default=sa.false(), nullable=False))
    with op.batch_alter_table("workshop", schema=None) as batch_op:
        batch_op.add_column(sa.Column("hold_hours", sa.Integer(), server_default="72", nullable=False))


def downgrade() -> None:
    with op.batch_alter_table("workshop", schema=None) as batch_op:
        batch_op.drop_column("hold_hours")
    with op.batch_alter_table("booking", schema=None) as batch_op:
        batch_op.drop_column("lapsed")
        batch_op.drop_column("held_until")
