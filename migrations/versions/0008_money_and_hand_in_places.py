"""money and hand-in places.

Bookings so far were handed in at the workshop itself. What is completed by now was paid without being kept here.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "hand_in_place",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("kind", sa.String(length=32), nullable=False),
        sa.Column("club_id", sa.Integer(), nullable=True),
        sa.Column("address", sa.Text(), nullable=False),
        sa.Column("weekdays", sa.JSON(), nullable=False),
        sa.Column("cut_off", sa.Time(), nullable=True),
        sa.Column("cut_off_days", sa.Integer(), server_default="0", nullable=False),
        sa.Column("travel_days", sa.Integer(), server_default="0", nullable=False),
        sa.Column("retired_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["club_id"], ["club.id"], name=op.f("fk_hand_in_place_club_id_club"), ondelete="SET NULL"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_hand_in_place")),
    )
    op.create_index(op.f("ix_hand_in_place_club_id"), "hand_in_place", ["club_id"])
    op.create_table(
        "tax_rate",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("item", sa.String(length=32), nullable=False),
        sa.Column("percent", sa.Numeric(precision=5, scale=2), nullable=False),
        sa.Column("valid_from", sa.Date(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_tax_rate")),
    )
    op.create_index("ix_tax_rate_item_valid_from", "tax_rate", ["item", "valid_from"], unique=True)
    with op.batch_alter_table("workshop", schema=None) as batch_op:
        batch_op.add_column(sa.Column("deposit_percent", sa.Integer(), server_default="0", nullable=False))
        batch_op.add_column(sa.Column("express_days", sa.Integer(), server_default="0", nullable=False))
    with op.batch_alter_table("booking", schema=None) as batch_op:
        batch_op.add_column(sa.Column("place_id", sa.Integer(), nullable=True))
        batch_op.add_column(sa.Column("arrives_on", sa.Date(), nullable=True))
        for name in ("is_express", "returns_by_post", "is_settled_elsewhere"):
            batch_op.add_column(sa.Column(name, sa.Boolean(), server_default=sa.false(), nullable=False))
        batch_op.add_column(sa.Column("deposit_percent", sa.Integer(), server_default="0", nullable=False))
        batch_op.create_foreign_key(
            batch_op.f("fk_booking_place_id_hand_in_place"), "hand_in_place", ["place_id"], ["id"]
        )
    op.execute("UPDATE booking SET arrives_on = hand_in_on")
    op.execute(
        sa.text(
            "UPDATE booking SET is_settled_elsewhere = :yes WHERE status IN ('completed', 'cancelled')"
        ).bindparams(sa.bindparam("yes", True, type_=sa.Boolean()))
    )
    with op.batch_alter_table("booking", schema=None) as batch_op:
        batch_op.alter_column("arrives_on", existing_type=sa.Date(), nullable=False)
        batch_op.create_index(batch_op.f("ix_booking_arrives_on"), ["arrives_on"])
        batch_op.create_index(batch_op.f("ix_booking_place_id"), ["place_id"])
    op.create_table(
        "payment",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("booking_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=32), nullable=False),
        sa.Column("method", sa.String(length=32), nullable=False),
        sa.Column("amount", sa.Numeric(precision=10, scale=2), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("remark", sa.Text(), nullable=False),
        sa.Column("year", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(length=40), nullable=False),
        sa.Column("statement", sa.JSON(), nullable=False),
        sa.CheckConstraint("amount > 0", name=op.f("ck_payment_an_amount_above_zero")),
        sa.ForeignKeyConstraint(["booking_id"], ["booking.id"], name=op.f("fk_payment_booking_id_booking")),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_payment_person_id_person"), ondelete="SET NULL"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_payment")),
        sa.UniqueConstraint("key", name=op.f("uq_payment_key")),
        sa.UniqueConstraint("year", "number", name=op.f("uq_payment_year_number")),
    )
    for column in ("at", "booking_id", "person_id"):
        op.create_index(op.f(f"ix_payment_{column}"), "payment", [column])
    op.create_table(
        "payment_tax",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("payment_id", sa.Integer(), nullable=False),
        sa.Column("rate", sa.Numeric(precision=5, scale=2), nullable=False),
        sa.Column("gross", sa.Numeric(precision=10, scale=2), nullable=False),
        sa.Column("tax", sa.Numeric(precision=10, scale=2), nullable=False),
        sa.ForeignKeyConstraint(
            ["payment_id"], ["payment.id"], name=op.f("fk_payment_tax_payment_id_payment"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_payment_tax")),
    )
    op.create_index(op.f("ix_payment_tax_payment_id"), "payment_tax", ["payment_id"])
    op.create_table(
        "parcel",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("booking_id", sa.Integer(), nullable=False),
        sa.Column("direction", sa.String(length=32), nullable=False),
        sa.Column("carrier", sa.String(length=80), nullable=False),
        sa.Column("number", sa.String(length=80), nullable=False),
        sa.Column("sent_on", sa.Date(), nullable=False),
        sa.Column("entered_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(
            ["booking_id"], ["booking.id"], name=op.f("fk_parcel_booking_id_booking"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_parcel_person_id_person"), ondelete="SET NULL"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_parcel")),
    )
    op.create_index(op.f("ix_parcel_booking_id"), "parcel", ["booking_id"])


def downgrade() -> None:
    for name in ("parcel", "payment_tax", "payment"):
        op.drop_table(name)
    with op.batch_alter_table("booking", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_booking_place_id"))
        batch_op.drop_index(batch_op.f("ix_booking_arrives_on"))
        batch_op.drop_constraint(batch_op.f("fk_booking_place_id_hand_in_place"), type_="foreignkey")
        for name in (
            "deposit_percent",
            "is_settled_elsewhere",
            "returns_by_post",
            "is_express",
            "arrives_on",
            "place_id",
        ):
            batch_op.drop_column(name)
    with op.batch_alter_table("workshop", schema=None) as batch_op:
        batch_op.drop_column("express_days")
        batch_op.drop_column("deposit_percent")
    op.drop_table("tax_rate")
    op.drop_table("hand_in_place")
