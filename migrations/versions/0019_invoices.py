"""invoices, files with letters, and who issues invoices."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0019"
down_revision = "0018"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "invoice",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("booking_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=32), nullable=False),
        sa.Column("year", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("issued_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("corrects_id", sa.Integer(), nullable=True),
        sa.Column("reason", sa.Text(), server_default=sa.text("''"), nullable=False),
        sa.Column("total", sa.Numeric(precision=10, scale=2), nullable=False),
        sa.Column("lines", sa.JSON(), nullable=False),
        sa.Column("content", sa.JSON(), nullable=False),
        sa.Column("key", sa.String(length=40), nullable=False),
        sa.CheckConstraint(
            "(kind = 'credit_note') = (corrects_id IS NOT NULL)",
            name=op.f("ck_invoice_only_credit_notes_correct"),
        ),
        sa.ForeignKeyConstraint(["booking_id"], ["booking.id"], name=op.f("fk_invoice_booking_id_booking")),
        sa.ForeignKeyConstraint(["corrects_id"], ["invoice.id"], name=op.f("fk_invoice_corrects_id_invoice")),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_invoice_person_id_person"), ondelete="SET NULL"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_invoice")),
        sa.UniqueConstraint("key", name=op.f("uq_invoice_key")),
        sa.UniqueConstraint("year", "number", name=op.f("uq_invoice_year_number")),
    )
    with op.batch_alter_table("invoice", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_invoice_booking_id"), ["booking_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_invoice_corrects_id"), ["corrects_id"], unique=False)
        batch_op.create_index("ix_invoice_issued_at_id", ["issued_at", "id"], unique=False)
        batch_op.create_index(batch_op.f("ix_invoice_person_id"), ["person_id"], unique=False)

    op.create_table(
        "outbox_enclosure",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("letter_id", sa.Integer(), nullable=False),
        sa.Column("file_name", sa.String(length=120), nullable=False),
        sa.Column("media_type", sa.String(length=80), nullable=False),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(
            ["letter_id"],
            ["outbox_letter.id"],
            name=op.f("fk_outbox_enclosure_letter_id_outbox_letter"),
            ondelete="CASCADE",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_outbox_enclosure")),
    )
    with op.batch_alter_table("outbox_enclosure", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_outbox_enclosure_letter_id"), ["letter_id"], unique=False)

    with op.batch_alter_table("club", schema=None) as batch_op:
        batch_op.add_column(
            sa.Column("country", sa.String(length=2), server_default=sa.text("''"), nullable=False)
        )

    with op.batch_alter_table("workshop", schema=None) as batch_op:
        batch_op.add_column(
            sa.Column("legal_name", sa.String(length=120), server_default=sa.text("''"), nullable=False)
        )
        batch_op.add_column(
            sa.Column("street", sa.String(length=120), server_default=sa.text("''"), nullable=False)
        )
        batch_op.add_column(
            sa.Column("post_code", sa.String(length=20), server_default=sa.text("''"), nullable=False)
        )
        batch_op.add_column(
            sa.Column("city", sa.String(length=80), server_default=sa.text("''"), nullable=False)
        )
        batch_op.add_column(
            sa.Column("country", sa.String(length=2), server_default=sa.text("''"), nullable=False)
        )
        batch_op.add_column(
            sa.Column("vat_number", sa.String(length=40), server_default=sa.text("''"), nullable=False)
        )
        batch_op.add_column(
            sa.Column("tax_number", sa.String(length=40), server_default=sa.text("''"), nullable=False)
        )
        batch_op.add_column(
            sa.Column("register_number", sa.String(length=40), server_default=sa.text("''"), nullable=False)
        )
        batch_op.add_column(
            sa.Column("account_holder", sa.String(length=70), server_default=sa.text("''"), nullable=False)
        )
        batch_op.add_column(
            sa.Column("iban", sa.String(length=34), server_default=sa.text("''"), nullable=False)
        )
        batch_op.add_column(
            sa.Column("bic", sa.String(length=11), server_default=sa.text("''"), nullable=False)
        )
        batch_op.add_column(sa.Column("pay_days", sa.Integer(), server_default="14", nullable=False))
        batch_op.add_column(
            sa.Column("no_tax_reason", sa.String(length=200), server_default=sa.text("''"), nullable=False)
        )
        batch_op.add_column(
            sa.Column("invoice_remark", sa.Text(), server_default=sa.text("''"), nullable=False)
        )


def downgrade() -> None:
    if op.get_bind().scalar(sa.text("SELECT count(*) FROM invoice")):
        # Papers that the law wants kept: nobody loses them by going back a step.
        raise RuntimeError("There are invoices. Take them along and delete them by hand before going back.")
    with op.batch_alter_table("workshop", schema=None) as batch_op:
        batch_op.drop_column("invoice_remark")
        batch_op.drop_column("no_tax_reason")
        batch_op.drop_column("pay_days")
        batch_op.drop_column("bic")
        batch_op.drop_column("iban")
        batch_op.drop_column("account_holder")
        batch_op.drop_column("register_number")
        batch_op.drop_column("tax_number")
        batch_op.drop_column("vat_number")
        batch_op.drop_column("country")
        batch_op.drop_column("city")
        batch_op.drop_column("post_code")
        batch_op.drop_column("street")
        batch_op.drop_column("legal_name")

    with op.batch_alter_table("club", schema=None) as batch_op:
        batch_op.drop_column("country")

    with op.batch_alter_table("outbox_enclosure", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_outbox_enclosure_letter_id"))

    op.drop_table("outbox_enclosure")
    with op.batch_alter_table("invoice", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_invoice_person_id"))
        batch_op.drop_index("ix_invoice_issued_at_id")
        batch_op.drop_index(batch_op.f("ix_invoice_corrects_id"))
        batch_op.drop_index(batch_op.f("ix_invoice_booking_id"))

    op.drop_table("invoice")
