"""Notes to a booking, agreed prices, rules for changes, bookings that were parted, and people known by telephone.

Going back gives whoever has no e-mail address one that nobody reads, since the column took no empty one before.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "booking_note",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("booking_id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.Column("from_workshop", sa.Boolean(), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("seen_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["booking_id"],
            ["booking.id"],
            name=op.f("fk_booking_note_booking_id_booking"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_booking_note_person_id_person"), ondelete="SET NULL"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_booking_note")),
    )
    with op.batch_alter_table("booking_note", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_booking_note_booking_id"), ["booking_id"], unique=False)
        batch_op.create_index("ix_booking_note_unseen", ["from_workshop", "seen_at"], unique=False)

    with op.batch_alter_table("booking", schema=None) as batch_op:
        batch_op.add_column(sa.Column("split_from_id", sa.Integer(), nullable=True))
        batch_op.create_index(batch_op.f("ix_booking_split_from_id"), ["split_from_id"], unique=False)
        batch_op.create_index("ix_booking_created_at_id", ["created_at", "id"], unique=False)
        batch_op.create_index("ix_booking_status_created_at", ["status", "created_at"], unique=False)
        batch_op.create_index("ix_booking_status_ready_on", ["status", "ready_on"], unique=False)
        batch_op.create_foreign_key(
            batch_op.f("fk_booking_split_from_id_booking"),
            "booking",
            ["split_from_id"],
            ["id"],
            ondelete="SET NULL",
        )

    with op.batch_alter_table("booking_event", schema=None) as batch_op:
        batch_op.add_column(sa.Column("bill_before", sa.JSON(), nullable=True))

    with op.batch_alter_table("counter_offer", schema=None) as batch_op:
        batch_op.add_column(
            sa.Column("structure_reason", sa.Text(), server_default=sa.text("''"), nullable=False)
        )
        batch_op.add_column(sa.Column("price", sa.Numeric(precision=10, scale=2), nullable=True))
        batch_op.add_column(
            sa.Column("price_reason", sa.Text(), server_default=sa.text("''"), nullable=False)
        )

    with op.batch_alter_table("person", schema=None) as batch_op:
        batch_op.add_column(
            sa.Column("phone", sa.String(length=40), server_default=sa.text("''"), nullable=False)
        )
        batch_op.alter_column("email", existing_type=sa.VARCHAR(length=320), nullable=True)
        batch_op.create_index(batch_op.f("ix_person_name"), ["name"], unique=False)

    with op.batch_alter_table("workshop", schema=None) as batch_op:
        batch_op.add_column(sa.Column("free_days", sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column("last_days", sa.Integer(), nullable=True))
        batch_op.add_column(
            sa.Column("move_fee", sa.Numeric(precision=10, scale=2), server_default="0", nullable=False)
        )
        batch_op.add_column(
            sa.Column("take_out_fee", sa.Numeric(precision=10, scale=2), server_default="0", nullable=False)
        )
        batch_op.add_column(
            sa.Column("cancel_fee", sa.Numeric(precision=10, scale=2), server_default="0", nullable=False)
        )


def downgrade() -> None:
    with op.batch_alter_table("workshop", schema=None) as batch_op:
        batch_op.drop_column("cancel_fee")
        batch_op.drop_column("take_out_fee")
        batch_op.drop_column("move_fee")
        batch_op.drop_column("last_days")
        batch_op.drop_column("free_days")

    op.execute("UPDATE person SET email = 'nobody-' || id || '@rillbook.invalid' WHERE email IS NULL")
    with op.batch_alter_table("person", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_person_name"))
        batch_op.alter_column("email", existing_type=sa.VARCHAR(length=320), nullable=False)
        batch_op.drop_column("phone")

    with op.batch_alter_table("counter_offer", schema=None) as batch_op:
        batch_op.drop_column("price_reason")
        batch_op.drop_column("price")
        batch_op.drop_column("structure_reason")

    with op.batch_alter_table("booking_event", schema=None) as batch_op:
        batch_op.drop_column("bill_before")

    with op.batch_alter_table("booking", schema=None) as batch_op:
        batch_op.drop_constraint(batch_op.f("fk_booking_split_from_id_booking"), type_="foreignkey")
        batch_op.drop_index("ix_booking_status_ready_on")
        batch_op.drop_index("ix_booking_created_at_id")
        batch_op.drop_index("ix_booking_status_created_at")
        batch_op.drop_index(batch_op.f("ix_booking_split_from_id"))
        batch_op.drop_column("split_from_id")

    with op.batch_alter_table("booking_note", schema=None) as batch_op:
        batch_op.drop_index("ix_booking_note_unseen")
        batch_op.drop_index(batch_op.f("ix_booking_note_booking_id"))

    op.drop_table("booking_note")
