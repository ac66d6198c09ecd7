"""names and telephone numbers that people had before, and who has worked here."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0027"
down_revision = "0026"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "former_name",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("known", sa.String(length=32), nullable=False),
        sa.Column("words", sa.String(length=320), nullable=False),
        sa.Column("until", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_former_name_person_id_person"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_former_name")),
    )
    op.create_index(op.f("ix_former_name_person_id"), "former_name", ["person_id"])
    with op.batch_alter_table("person") as batch_op:
        batch_op.add_column(sa.Column("worked_here", sa.Boolean(), server_default=sa.false(), nullable=False))
    # Whoever works here, and whoever did something here that only people of the workshop do.
    person, audit = (
        sa.table("person", *map(sa.column, ("id", "staff_role", "worked_here"))),
        sa.table("audit_entry", *map(sa.column, ("person_id", "act"))),
    )
    joined = sa.select(audit.c.person_id).where(audit.c.act == "staff_joined", audit.c.person_id.is_not(None))
    did = [
        sa.select(sa.column(key)).select_from(sa.table(table)).where(sa.column(key).is_not(None))
        for table, key in (
            ("bench_note", "person_id"),
            ("bench_run", "begun_by_id"),
            ("stone_dressing", "dressed_by_id"),
            ("stop", "stopped_by_id"),
            ("payment", "person_id"),
            ("invoice", "person_id"),
        )
    ]
    op.execute(
        sa.update(person)
        .where(
            sa.or_(
                person.c.staff_role.is_not(None),
                person.c.id.in_(joined),
                *(person.c.id.in_(one) for one in did),
            )
        )
        .values(worked_here=sa.true())
    )


def downgrade() -> None:
    with op.batch_alter_table("person") as batch_op:
        batch_op.drop_column("worked_here")
    op.drop_index(op.f("ix_former_name_person_id"), table_name="former_name")
    op.drop_table("former_name")
