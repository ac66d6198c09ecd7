"""Runs at the bench: their dressings with test cuts, their pairs, and each act with the key of its page."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "bench_run",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("grinder", sa.Integer(), nullable=False),
        sa.Column("layer", sa.String(length=80), nullable=False),
        sa.Column("structure_id", sa.Integer(), nullable=True),
        sa.Column("plan_id", sa.Integer(), nullable=True),
        sa.Column("plan_run", sa.Integer(), nullable=True),
        sa.Column("begun_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("begun_by_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(
            ["begun_by_id"], ["person.id"], name=op.f("fk_bench_run_begun_by_id_person"), ondelete="SET NULL"
        ),
        sa.ForeignKeyConstraint(
            ["plan_id"], ["stone_plan.id"], name=op.f("fk_bench_run_plan_id_stone_plan"), ondelete="SET NULL"
        ),
        sa.ForeignKeyConstraint(
            ["structure_id"], ["structure.id"], name=op.f("fk_bench_run_structure_id_structure")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_bench_run")),
        sa.UniqueConstraint("plan_id", "plan_run", name=op.f("uq_bench_run_plan_id_plan_run")),
    )
    op.create_index("ix_bench_run_day_grinder", "bench_run", ["day", "grinder"])

    op.create_table(
        "bench_note",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.Column("act", sa.String(length=32), nullable=False),
        sa.Column("target", sa.String(length=120), nullable=False),
        sa.Column("run_id", sa.Integer(), nullable=True),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_bench_note_person_id_person"), ondelete="SET NULL"
        ),
        sa.ForeignKeyConstraint(
            ["run_id"], ["bench_run.id"], name=op.f("fk_bench_note_run_id_bench_run"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_bench_note")),
        sa.UniqueConstraint("key", name=op.f("uq_bench_note_key")),
    )
    op.create_index(op.f("ix_bench_note_run_id"), "bench_note", ["run_id"])

    op.create_table(
        "stone_dressing",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("run_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("carried", sa.Boolean(), nullable=False),
        sa.Column("settings", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("diamond_id", sa.Integer(), nullable=True),
        sa.Column("diamond", sa.String(length=40), nullable=False),
        sa.Column("remarks", sa.Text(), nullable=False),
        sa.Column("dressed_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("dressed_by_id", sa.Integer(), nullable=True),
        sa.Column("dressed_by", sa.String(length=120), nullable=False),
        sa.Column("cut", sa.String(length=32), nullable=False),
        sa.Column("judged_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("judged_by_id", sa.Integer(), nullable=True),
        sa.Column("judged_by", sa.String(length=120), nullable=False),
        sa.Column("depth_um", sa.Double(), nullable=True),
        sa.Column("pitch_mm", sa.Double(), nullable=True),
        sa.Column("seen", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["diamond_id"],
            ["diamond.id"],
            name=op.f("fk_stone_dressing_diamond_id_diamond"),
            ondelete="SET NULL",
        ),
        sa.ForeignKeyConstraint(
            ["dressed_by_id"],
            ["person.id"],
            name=op.f("fk_stone_dressing_dressed_by_id_person"),
            ondelete="SET NULL",
        ),
        sa.ForeignKeyConstraint(
            ["judged_by_id"],
            ["person.id"],
            name=op.f("fk_stone_dressing_judged_by_id_person"),
            ondelete="SET NULL",
        ),
        sa.ForeignKeyConstraint(
            ["run_id"], ["bench_run.id"], name=op.f("fk_stone_dressing_run_id_bench_run"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stone_dressing")),
        sa.UniqueConstraint("run_id", "number", name=op.f("uq_stone_dressing_run_id_number")),
    )
    op.create_index(op.f("ix_stone_dressing_diamond_id"), "stone_dressing", ["diamond_id"])

    op.create_table(
        "run_pair",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("run_id", sa.Integer(), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("step", sa.Integer(), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("instead", sa.Boolean(), nullable=False),
        sa.Column("state", sa.String(length=32), nullable=False),
        sa.Column("dressing_id", sa.Integer(), nullable=True),
        sa.Column("done_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("done_by_id", sa.Integer(), nullable=True),
        sa.Column("done_by", sa.String(length=120), nullable=False),
        sa.Column("measured", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("remarks", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["done_by_id"], ["person.id"], name=op.f("fk_run_pair_done_by_id_person"), ondelete="SET NULL"
        ),
        sa.ForeignKeyConstraint(
            ["dressing_id"],
            ["stone_dressing.id"],
            name=op.f("fk_run_pair_dressing_id_stone_dressing"),
            ondelete="SET NULL",
        ),
        sa.ForeignKeyConstraint(
            ["item_id"],
            ["booking_item.id"],
            name=op.f("fk_run_pair_item_id_booking_item"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["run_id"], ["bench_run.id"], name=op.f("fk_run_pair_run_id_bench_run"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_run_pair")),
        sa.UniqueConstraint("run_id", "item_id", "step", name=op.f("uq_run_pair_run_id_item_id_step")),
    )
    op.create_index(op.f("ix_run_pair_item_id"), "run_pair", ["item_id"])


def downgrade() -> None:
    op.drop_table("run_pair")
    op.drop_table("stone_dressing")
    op.drop_table("bench_note")
    op.drop_table("bench_run")
