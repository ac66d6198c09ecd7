"""pairs that are handed over, pairs in dispute, pairs that were found."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0022"
down_revision = "0021"
branch_labels = None
depends_on = None

HOLDERS = (
    ("from_person_id", "person"),
    ("from_club_id", "club"),
    ("to_person_id", "person"),
    ("to_club_id", "club"),
)


def upgrade() -> None:
    op.create_table(
        "pair_offer",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("code_hash", sa.String(length=64), nullable=False),
        sa.Column("until", sa.DateTime(timezone=True), nullable=False),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["pair_id"], ["pair.id"], name=op.f("fk_pair_offer_pair_id_pair"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pair_offer")),
        sa.UniqueConstraint("pair_id", name=op.f("uq_pair_offer_pair_id")),
        sa.UniqueConstraint("code_hash", name=op.f("uq_pair_offer_code_hash")),
    )
    op.create_table(
        "handover",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("way", sa.String(length=32), nullable=False),
        *(sa.Column(name, sa.Integer(), nullable=True) for name, _table in HOLDERS),
        sa.Column("title", sa.String(length=200), nullable=False),
        sa.Column("notes", sa.Text(), server_default=sa.text("''"), nullable=False),
        sa.ForeignKeyConstraint(
            ["pair_id"], ["pair.id"], name=op.f("fk_handover_pair_id_pair"), ondelete="CASCADE"
        ),
        *(
            sa.ForeignKeyConstraint(
                [name], [f"{table}.id"], name=op.f(f"fk_handover_{name}_{table}"), ondelete="SET NULL"
            )
            for name, table in HOLDERS
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_handover")),
    )
    for name in ("pair_id", *(name for name, _table in HOLDERS)):
        op.create_index(op.f(f"ix_handover_{name}"), "handover", [name], unique=False)
    with op.batch_alter_table("pair") as batch_op:
        batch_op.add_column(sa.Column("frozen_at", sa.DateTime(timezone=True), nullable=True))
        batch_op.add_column(
            sa.Column("frozen_reason", sa.Text(), server_default=sa.text("''"), nullable=False)
        )
        batch_op.add_column(
            sa.Column("frozen_by", sa.String(length=120), server_default=sa.text("''"), nullable=False)
        )
        batch_op.add_column(sa.Column("found_at", sa.DateTime(timezone=True), nullable=True))
    with op.batch_alter_table("outbox_letter") as batch_op:
        batch_op.add_column(sa.Column("pair_offer_id", sa.Integer(), nullable=True))
        batch_op.create_index(batch_op.f("ix_outbox_letter_pair_offer_id"), ["pair_offer_id"], unique=False)
        batch_op.create_foreign_key(
            batch_op.f("fk_outbox_letter_pair_offer_id_pair_offer"),
            "pair_offer",
            ["pair_offer_id"],
            ["id"],
            ondelete="CASCADE",
        )


def downgrade() -> None:
    # What has no name before.
    op.execute(
        "DELETE FROM audit_entry WHERE act IN ('pair_offered', 'pair_handed_over', 'pair_frozen', 'pair_cleared',"
        " 'pair_given_back', 'pair_found')"
    )
    # Without the code that they bring they would be no use.
    op.execute("DELETE FROM outbox_letter WHERE pair_offer_id IS NOT NULL")
    with op.batch_alter_table("outbox_letter") as batch_op:
        batch_op.drop_constraint(batch_op.f("fk_outbox_letter_pair_offer_id_pair_offer"), type_="foreignkey")
        batch_op.drop_index(batch_op.f("ix_outbox_letter_pair_offer_id"))
        batch_op.drop_column("pair_offer_id")
    with op.batch_alter_table("pair") as batch_op:
        for name in ("found_at", "frozen_by", "frozen_reason", "frozen_at"):
            batch_op.drop_column(name)
    op.drop_table("handover")
    op.drop_table("pair_offer")
