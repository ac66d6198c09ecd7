"""staff, second factors and the list of who did what."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

MOMENT = sa.DateTime(timezone=True)


def upgrade() -> None:
    op.add_column("person", sa.Column("staff_since", MOMENT, nullable=True))
    op.add_column("person", sa.Column("signed_in_at", MOMENT, nullable=True))
    op.add_column("login_session", sa.Column("seen_at", MOMENT, nullable=True))
    op.add_column("login_session", sa.Column("fresh_at", MOMENT, nullable=True))
    op.add_column("login_session", sa.Column("challenge", sa.String(90), nullable=True))
    op.add_column(
        "workshop",
        sa.Column("second_factor_required", sa.Boolean(), server_default=sa.false(), nullable=False),
    )
    # As far as anybody knows: the newest of the browsers that are signed in now.
    op.execute(
        "UPDATE person SET signed_in_at ="
        " (SELECT max(created_at) FROM login_session WHERE login_session.person_id = person.id)"
    )
    _second_factors()
    op.create_table(
        "invitation",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("email", sa.String(320), nullable=False),
        sa.Column("name", sa.String(120), nullable=False),
        sa.Column("role", sa.String(32), nullable=False),
        sa.Column("mark", sa.String(64), nullable=False),
        sa.Column("invited_by_id", sa.Integer(), nullable=True),
        sa.Column("invited_at", MOMENT, nullable=False),
        sa.Column("until", MOMENT, nullable=False),
        sa.ForeignKeyConstraint(
            ["invited_by_id"],
            ["person.id"],
            name=op.f("fk_invitation_invited_by_id_person"),
            ondelete="SET NULL",
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_invitation")),
        sa.UniqueConstraint("email", name=op.f("uq_invitation_email")),
    )
    op.create_index(op.f("ix_person_staff_role"), "person", ["staff_role"])
    op.create_index("ix_booking_event_at_id", "booking_event", ["at", "id"])
    op.create_index("ix_booking_event_person_id_at_id", "booking_event", ["person_id", "at", "id"])
    op.create_index("ix_booking_event_event_at_id", "booking_event", ["event", "at", "id"])
    op.create_index("ix_audit_entry_act_at_id", "audit_entry", ["act", "at", "id"])
    op.create_index("ix_audit_entry_person_id_at_id", "audit_entry", ["person_id", "at", "id"])
    op.drop_index("ix_audit_entry_person_id", "audit_entry")


def _second_factors() -> None:
    _of_person(
        "authenticator",
        sa.Column("secret", sa.String(255), nullable=False),
        sa.Column("last_step", sa.BigInteger(), nullable=False),
        sa.Column("made_at", MOMENT, nullable=False),
        sa.Column("confirmed_at", MOMENT, nullable=True),
    )
    _of_person(
        "passkey",
        sa.Column("name", sa.String(60), nullable=False),
        sa.Column("credential_id", sa.String(1400), nullable=False),
        sa.Column("public_key", sa.LargeBinary(), nullable=False),
        sa.Column("sign_count", sa.BigInteger(), nullable=False),
        sa.Column("made_at", MOMENT, nullable=False),
        sa.Column("used_at", MOMENT, nullable=True),
        sa.UniqueConstraint("credential_id", name=op.f("uq_passkey_credential_id")),
    )
    _of_person(
        "recovery_code",
        sa.Column("mark", sa.String(64), nullable=False),
        sa.Column("used_at", MOMENT, nullable=True),
    )
    op.create_table(
        "half_sign_in",
        sa.Column("id", sa.String(64), nullable=False),
        sa.Column("email", sa.String(320), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.Column("seen_hash", sa.String(200), nullable=True),
        sa.Column("challenge", sa.String(90), nullable=True),
        sa.Column("at", MOMENT, nullable=False),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_half_sign_in_person_id_person"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_half_sign_in")),
    )
    op.create_index(op.f("ix_half_sign_in_person_id"), "half_sign_in", ["person_id"])


def _of_person(table: str, *columns: sa.schema.SchemaItem) -> None:
    op.create_table(
        table,
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        *columns,
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f(f"fk_{table}_person_id_person"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f(f"pk_{table}")),
    )
    op.create_index(op.f(f"ix_{table}_person_id"), table, ["person_id"])


def downgrade() -> None:
    op.create_index("ix_audit_entry_person_id", "audit_entry", ["person_id"])
    op.drop_index("ix_audit_entry_person_id_at_id", "audit_entry")
    op.drop_index("ix_audit_entry_act_at_id", "audit_entry")
    op.drop_index("ix_person_staff_role", "person")
    for name in ("event_at_id", "person_id_at_id", "at_id"):
        op.drop_index(f"ix_booking_event_{name}", "booking_event")
    for table in ("invitation", "half_sign_in", "recovery_code", "passkey", "authenticator"):
        op.drop_table(table)
    for table, columns in (
        ("workshop", ["second_factor_required"]),
        ("login_session", ["challenge", "fresh_at", "seen_at"]),
        ("person", ["signed_in_at", "staff_since"]),
    ):
        with op.batch_alter_table(table) as batch:
            for column in columns:
                batch.drop_column(column)
