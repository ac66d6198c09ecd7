"""the first tables."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "club",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("address", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_club")),
        sa.UniqueConstraint("name", name=op.f("uq_club_name")),
    )
    op.create_table(
        "club_tier",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("from_pairs", sa.Integer(), nullable=False),
        sa.Column("percent", sa.Numeric(precision=5, scale=2), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_club_tier")),
        sa.UniqueConstraint("from_pairs", name=op.f("uq_club_tier_from_pairs")),
    )
    op.create_table(
        "failed_try",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("bucket", sa.String(length=340), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_failed_try")),
    )
    with op.batch_alter_table("failed_try", schema=None) as batch_op:
        batch_op.create_index("ix_failed_try_bucket_at", ["bucket", "at"], unique=False)

    op.create_table(
        "person",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("email", sa.String(length=320), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("password_hash", sa.String(length=200), nullable=True),
        sa.Column("language", sa.String(length=12), server_default="en", nullable=False),
        sa.Column("staff_role", sa.String(length=32), nullable=True),
        sa.Column("confirmed_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_person")),
        sa.UniqueConstraint("email", name=op.f("uq_person_email")),
    )
    op.create_table(
        "price",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("item", sa.String(length=32), nullable=False),
        sa.Column("amount", sa.Numeric(precision=10, scale=2), nullable=False),
        sa.Column("valid_from", sa.Date(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_price")),
    )
    with op.batch_alter_table("price", schema=None) as batch_op:
        batch_op.create_index("ix_price_item_valid_from", ["item", "valid_from"], unique=True)

    op.create_table(
        "structure_family",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(length=40), nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("summary", sa.Text(), nullable=False),
        sa.Column("working_model", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_structure_family")),
        sa.UniqueConstraint("key", name=op.f("uq_structure_family_key")),
    )
    op.create_table(
        "work_day",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("minutes_available", sa.Integer(), nullable=False),
        sa.Column("minutes_committed", sa.Integer(), server_default="0", nullable=False),
        sa.Column("note", sa.String(length=120), nullable=False),
        sa.CheckConstraint("minutes_committed <= minutes_available", name=op.f("ck_work_day_never_oversold")),
        sa.CheckConstraint("minutes_committed >= 0", name=op.f("ck_work_day_not_negative")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_work_day")),
        sa.UniqueConstraint("day", name=op.f("uq_work_day_day")),
    )
    op.create_table(
        "workshop",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=120), nullable=False),
        sa.Column("address", sa.Text(), nullable=False),
        sa.Column("phone", sa.String(length=40), nullable=False),
        sa.Column("email", sa.String(length=320), nullable=False),
        sa.Column("timezone", sa.String(length=64), server_default="UTC", nullable=False),
        sa.Column("currency", sa.String(length=3), server_default="EUR", nullable=False),
        sa.Column("minimum_um", sa.Integer(), server_default="500", nullable=False),
        sa.Column("flattening_minutes", sa.Integer(), server_default="8", nullable=False),
        sa.Column("saturation_minutes", sa.Integer(), server_default="5", nullable=False),
        sa.Column("flattening_um", sa.Integer(), server_default="100", nullable=False),
        sa.Column("horizon_days", sa.Integer(), server_default="60", nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_workshop")),
    )
    op.create_table(
        "booking",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("reference", sa.String(length=16), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("club_id", sa.Integer(), nullable=True),
        sa.Column("status", sa.String(length=32), nullable=False),
        sa.Column("hand_in_on", sa.Date(), nullable=False),
        sa.Column("ready_on", sa.Date(), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("currency", sa.String(length=3), nullable=False),
        sa.Column("total", sa.Numeric(precision=10, scale=2), nullable=False),
        sa.Column("lines", sa.JSON(), nullable=False),
        sa.Column("sequence", sa.Integer(), server_default="0", nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["club_id"], ["club.id"], name=op.f("fk_booking_club_id_club")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_booking_person_id_person")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_booking")),
        sa.UniqueConstraint("reference", name=op.f("uq_booking_reference")),
    )
    with op.batch_alter_table("booking", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_booking_club_id"), ["club_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_booking_person_id"), ["person_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_booking_ready_on"), ["ready_on"], unique=False)
        batch_op.create_index(batch_op.f("ix_booking_status"), ["status"], unique=False)

    op.create_table(
        "booking_draft",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("club_id", sa.Integer(), nullable=True),
        sa.Column("stored", sa.JSON(), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["club_id"], ["club.id"], name=op.f("fk_booking_draft_club_id_club"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_booking_draft_person_id_person"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_booking_draft")),
    )
    with op.batch_alter_table("booking_draft", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_booking_draft_club_id"), ["club_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_booking_draft_person_id"), ["person_id"], unique=False)

    op.create_table(
        "club_manager",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("club_id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("since", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["club_id"], ["club.id"], name=op.f("fk_club_manager_club_id_club"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_club_manager_person_id_person"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_club_manager")),
        sa.UniqueConstraint("club_id", "person_id", name=op.f("uq_club_manager_club_id_person_id")),
    )
    with op.batch_alter_table("club_manager", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_club_manager_person_id"), ["person_id"], unique=False)

    op.create_table(
        "junior",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("club_id", sa.Integer(), nullable=False),
        sa.Column("display_name", sa.String(length=80), nullable=False),
        sa.Column("birth_year", sa.Integer(), nullable=True),
        sa.Column("left_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["club_id"], ["club.id"], name=op.f("fk_junior_club_id_club"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_junior")),
    )
    with op.batch_alter_table("junior", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_junior_club_id"), ["club_id"], unique=False)

    op.create_table(
        "login_session",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("agent", sa.String(length=200), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_login_session_person_id_person"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_login_session")),
    )
    with op.batch_alter_table("login_session", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_login_session_person_id"), ["person_id"], unique=False)

    op.create_table(
        "structure",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(length=40), nullable=False),
        sa.Column("version", sa.Integer(), server_default="1", nullable=False),
        sa.Column("current", sa.Boolean(), nullable=False),
        sa.Column("family_id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("stated", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["family_id"], ["structure_family.id"], name=op.f("fk_structure_family_id_structure_family")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_structure")),
        sa.UniqueConstraint("key", "version", name=op.f("uq_structure_key_version")),
    )
    with op.batch_alter_table("structure", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_structure_family_id"), ["family_id"], unique=False)

    op.create_table(
        "counter_offer",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("booking_id", sa.Integer(), nullable=False),
        sa.Column("made_by_id", sa.Integer(), nullable=True),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ready_on", sa.Date(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("answered_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("accepted", sa.Boolean(), nullable=True),
        sa.ForeignKeyConstraint(
            ["booking_id"],
            ["booking.id"],
            name=op.f("fk_counter_offer_booking_id_booking"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["made_by_id"],
            ["person.id"],
            name=op.f("fk_counter_offer_made_by_id_person"),
            ondelete="SET NULL",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_counter_offer")),
    )
    with op.batch_alter_table("counter_offer", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_counter_offer_booking_id"), ["booking_id"], unique=False)

    op.create_table(
        "outbox_letter",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("booking_id", sa.Integer(), nullable=True),
        sa.Column("recipient", sa.String(length=320), nullable=False),
        sa.Column("subject", sa.String(length=250), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("calendar", sa.LargeBinary(), nullable=True),
        sa.Column("calendar_method", sa.String(length=16), nullable=True),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("try_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("claimed_until", sa.DateTime(timezone=True), nullable=True),
        sa.Column("tries", sa.Integer(), server_default="0", nullable=False),
        sa.Column("last_error", sa.Text(), nullable=False),
        sa.Column("sent_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("given_up_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["booking_id"],
            ["booking.id"],
            name=op.f("fk_outbox_letter_booking_id_booking"),
            ondelete="SET NULL",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_outbox_letter")),
    )
    with op.batch_alter_table("outbox_letter", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_outbox_letter_booking_id"), ["booking_id"], unique=False)
        batch_op.create_index("ix_outbox_letter_due", ["sent_at", "given_up_at", "try_at"], unique=False)

    op.create_table(
        "pair",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("owner_id", sa.Integer(), nullable=True),
        sa.Column("club_id", sa.Integer(), nullable=True),
        sa.Column("junior_id", sa.Integer(), nullable=True),
        sa.Column("maker", sa.String(length=80), nullable=False),
        sa.Column("model", sa.String(length=80), nullable=False),
        sa.Column("discipline", sa.String(length=32), nullable=False),
        sa.Column("length_cm", sa.Integer(), nullable=True),
        sa.Column("year", sa.Integer(), nullable=True),
        sa.Column("mark", sa.String(length=80), nullable=False),
        sa.Column("base", sa.String(length=32), nullable=True),
        sa.Column("stiffness_kg", sa.Integer(), nullable=True),
        sa.Column("grip", sa.String(length=32), nullable=True),
        sa.Column("kick_zone_cm", sa.Integer(), nullable=True),
        sa.Column("purpose", sa.String(length=32), nullable=False),
        sa.Column("notes", sa.Text(), nullable=False),
        sa.Column("archived_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.CheckConstraint(
            "(owner_id IS NULL AND club_id IS NOT NULL) OR (owner_id IS NOT NULL AND club_id IS NULL)",
            name=op.f("ck_pair_one_owner"),
        ),
        sa.ForeignKeyConstraint(["club_id"], ["club.id"], name=op.f("fk_pair_club_id_club")),
        sa.ForeignKeyConstraint(["junior_id"], ["junior.id"], name=op.f("fk_pair_junior_id_junior")),
        sa.ForeignKeyConstraint(["owner_id"], ["person.id"], name=op.f("fk_pair_owner_id_person")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pair")),
    )
    with op.batch_alter_table("pair", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_pair_club_id"), ["club_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_pair_junior_id"), ["junior_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_pair_owner_id"), ["owner_id"], unique=False)

    op.create_table(
        "booking_item",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("booking_id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("structure_id", sa.Integer(), nullable=False),
        sa.Column("flattening", sa.Boolean(), nullable=False),
        sa.Column("saturation", sa.Boolean(), nullable=False),
        sa.Column("minutes", sa.Integer(), nullable=False),
        sa.Column("stage", sa.String(length=32), nullable=False),
        sa.Column("checked_in_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("handed_back_at", sa.DateTime(timezone=True), nullable=True),
        sa.ForeignKeyConstraint(
            ["booking_id"],
            ["booking.id"],
            name=op.f("fk_booking_item_booking_id_booking"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name=op.f("fk_booking_item_pair_id_pair")),
        sa.ForeignKeyConstraint(
            ["structure_id"], ["structure.id"], name=op.f("fk_booking_item_structure_id_structure")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_booking_item")),
        sa.UniqueConstraint("booking_id", "pair_id", name=op.f("uq_booking_item_booking_id_pair_id")),
    )
    with op.batch_alter_table("booking_item", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_booking_item_pair_id"), ["pair_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_booking_item_structure_id"), ["structure_id"], unique=False)

    op.create_table(
        "snow_answers",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("token", sa.String(length=64), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.Column("club_id", sa.Integer(), nullable=True),
        sa.Column("pair_id", sa.Integer(), nullable=True),
        sa.Column("stored", sa.JSON(), nullable=False),
        sa.Column("finished_at", sa.DateTime(timezone=True), nullable=True),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("updated_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["club_id"], ["club.id"], name=op.f("fk_snow_answers_club_id_club"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["pair_id"], ["pair.id"], name=op.f("fk_snow_answers_pair_id_pair"), ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_snow_answers_person_id_person"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_snow_answers")),
        sa.UniqueConstraint("token", name=op.f("uq_snow_answers_token")),
    )
    with op.batch_alter_table("snow_answers", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_snow_answers_club_id"), ["club_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_snow_answers_pair_id"), ["pair_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_snow_answers_person_id"), ["person_id"], unique=False)

    op.create_table(
        "booking_event",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("booking_id", sa.Integer(), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=True),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.Column("event", sa.String(length=32), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("words", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["booking_id"],
            ["booking.id"],
            name=op.f("fk_booking_event_booking_id_booking"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["item_id"],
            ["booking_item.id"],
            name=op.f("fk_booking_event_item_id_booking_item"),
            ondelete="SET NULL",
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_booking_event_person_id_person"), ondelete="SET NULL"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_booking_event")),
    )
    with op.batch_alter_table("booking_event", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_booking_event_booking_id"), ["booking_id"], unique=False)

    op.create_table(
        "commitment",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("work_day_id", sa.Integer(), nullable=False),
        sa.Column("booking_item_id", sa.Integer(), nullable=False),
        sa.Column("minutes", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["booking_item_id"],
            ["booking_item.id"],
            name=op.f("fk_commitment_booking_item_id_booking_item"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["work_day_id"], ["work_day.id"], name=op.f("fk_commitment_work_day_id_work_day")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_commitment")),
        sa.UniqueConstraint("booking_item_id", name=op.f("uq_commitment_booking_item_id")),
    )
    with op.batch_alter_table("commitment", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_commitment_work_day_id"), ["work_day_id"], unique=False)

    op.create_table(
        "grind",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("pair_id", sa.Integer(), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=True),
        sa.Column("structure_id", sa.Integer(), nullable=False),
        sa.Column("ground_on", sa.Date(), nullable=False),
        sa.Column("technician", sa.String(length=120), nullable=False),
        sa.Column("before_tip_um", sa.Integer(), nullable=True),
        sa.Column("before_middle_um", sa.Integer(), nullable=True),
        sa.Column("before_tail_um", sa.Integer(), nullable=True),
        sa.Column("after_tip_um", sa.Integer(), nullable=True),
        sa.Column("after_middle_um", sa.Integer(), nullable=True),
        sa.Column("after_tail_um", sa.Integer(), nullable=True),
        sa.Column("flattened", sa.Boolean(), nullable=False),
        sa.Column("saturated", sa.Boolean(), nullable=False),
        sa.Column("remarks", sa.Text(), nullable=False),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["item_id"], ["booking_item.id"], name=op.f("fk_grind_item_id_booking_item"), ondelete="SET NULL"
        ),
        sa.ForeignKeyConstraint(["pair_id"], ["pair.id"], name=op.f("fk_grind_pair_id_pair")),
        sa.ForeignKeyConstraint(
            ["structure_id"], ["structure.id"], name=op.f("fk_grind_structure_id_structure")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_grind")),
        sa.UniqueConstraint("item_id", name=op.f("uq_grind_item_id")),
    )
    with op.batch_alter_table("grind", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_grind_pair_id"), ["pair_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_grind_structure_id"), ["structure_id"], unique=False)

    op.create_table(
        "offered_structure",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("offer_id", sa.Integer(), nullable=False),
        sa.Column("item_id", sa.Integer(), nullable=False),
        sa.Column("structure_id", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(
            ["item_id"],
            ["booking_item.id"],
            name=op.f("fk_offered_structure_item_id_booking_item"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["offer_id"],
            ["counter_offer.id"],
            name=op.f("fk_offered_structure_offer_id_counter_offer"),
            ondelete="CASCADE",
        ),
        sa.ForeignKeyConstraint(
            ["structure_id"], ["structure.id"], name=op.f("fk_offered_structure_structure_id_structure")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_offered_structure")),
    )
    with op.batch_alter_table("offered_structure", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_offered_structure_item_id"), ["item_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_offered_structure_offer_id"), ["offer_id"], unique=False)


def downgrade() -> None:
    with op.batch_alter_table("offered_structure", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_offered_structure_offer_id"))
        batch_op.drop_index(batch_op.f("ix_offered_structure_item_id"))

    op.drop_table("offered_structure")
    with op.batch_alter_table("grind", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_grind_structure_id"))
        batch_op.drop_index(batch_op.f("ix_grind_pair_id"))

    op.drop_table("grind")
    with op.batch_alter_table("commitment", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_commitment_work_day_id"))

    op.drop_table("commitment")
    with op.batch_alter_table("booking_event", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_booking_event_booking_id"))

    op.drop_table("booking_event")
    with op.batch_alter_table("snow_answers", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_snow_answers_person_id"))
        batch_op.drop_index(batch_op.f("ix_snow_answers_pair_id"))
        batch_op.drop_index(batch_op.f("ix_snow_answers_club_id"))

    op.drop_table("snow_answers")
    with op.batch_alter_table("booking_item", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_booking_item_structure_id"))
        batch_op.drop_index(batch_op.f("ix_booking_item_pair_id"))

    op.drop_table("booking_item")
    with op.batch_alter_table("pair", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_pair_owner_id"))
        batch_op.drop_index(batch_op.f("ix_pair_junior_id"))
        batch_op.drop_index(batch_op.f("ix_pair_club_id"))

    op.drop_table("pair")
    with op.batch_alter_table("outbox_letter", schema=None) as batch_op:
        batch_op.drop_index("ix_outbox_letter_due")
        batch_op.drop_index(batch_op.f("ix_outbox_letter_booking_id"))

    op.drop_table("outbox_letter")
    with op.batch_alter_table("counter_offer", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_counter_offer_booking_id"))

    op.drop_table("counter_offer")
    with op.batch_alter_table("structure", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_structure_family_id"))

    op.drop_table("structure")
    with op.batch_alter_table("login_session", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_login_session_person_id"))

    op.drop_table("login_session")
    with op.batch_alter_table("junior", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_junior_club_id"))

    op.drop_table("junior")
    with op.batch_alter_table("club_manager", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_club_manager_person_id"))

    op.drop_table("club_manager")
    with op.batch_alter_table("booking_draft", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_booking_draft_person_id"))
        batch_op.drop_index(batch_op.f("ix_booking_draft_club_id"))

    op.drop_table("booking_draft")
    with op.batch_alter_table("booking", schema=None) as batch_op:
        batch_op.drop_index(batch_op.f("ix_booking_status"))
        batch_op.drop_index(batch_op.f("ix_booking_ready_on"))
        batch_op.drop_index(batch_op.f("ix_booking_person_id"))
        batch_op.drop_index(batch_op.f("ix_booking_club_id"))

    op.drop_table("booking")
    op.drop_table("workshop")
    op.drop_table("work_day")
    op.drop_table("structure_family")
    with op.batch_alter_table("price", schema=None) as batch_op:
        batch_op.drop_index("ix_price_item_valid_from")

    op.drop_table("price")
    op.drop_table("person")
    with op.batch_alter_table("failed_try", schema=None) as batch_op:
        batch_op.drop_index("ix_failed_try_bucket_at")

    op.drop_table("failed_try")
    op.drop_table("club_tier")
    op.drop_table("club")
