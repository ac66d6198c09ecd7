"""minutes of each grinder."""

from __future__ import annotations

import json
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None

DAYS = sa.table("work_day", sa.column("id", sa.Integer), sa.column("stone_minutes", sa.JSON))
SPECIALS = sa.table(
    "special_day",
    sa.column("id", sa.Integer),
    sa.column("minutes", sa.Integer),
    sa.column("each", sa.JSON(none_as_null=True)),
)
WORKSHOPS = sa.table("workshop", sa.column("id", sa.Integer), sa.column("opening_week", sa.JSON))


def upgrade() -> None:
    with op.batch_alter_table("work_day") as batch_op:
        batch_op.add_column(sa.Column("stone_minutes", sa.JSON(), nullable=True))
        batch_op.add_column(sa.Column("minutes_in_all", sa.Integer(), nullable=True))
    op.execute("UPDATE work_day SET minutes_in_all = minutes_available * grinders")
    connection = op.get_bind()
    for (minutes,) in connection.execute(
        sa.text("SELECT DISTINCT minutes_available FROM work_day")
    ).fetchall():
        connection.execute(
            sa.text(
                "UPDATE work_day SET stone_minutes = :each WHERE minutes_available = :minutes"
            ).bindparams(sa.bindparam("each", type_=sa.JSON())),
            {"each": [minutes], "minutes": minutes},
        )
    with op.batch_alter_table("work_day") as batch_op:
        batch_op.drop_constraint(batch_op.f("ck_work_day_never_oversold"), type_="check")
        batch_op.alter_column("stone_minutes", existing_type=sa.JSON(), nullable=False)
        batch_op.alter_column("minutes_in_all", existing_type=sa.Integer(), nullable=False)
        batch_op.drop_column("minutes_available")
        batch_op.create_check_constraint(
            batch_op.f("ck_work_day_never_oversold"), "minutes_committed <= minutes_in_all"
        )
    op.add_column("special_day", sa.Column("each", sa.JSON(), nullable=True))
    for row in connection.execute(sa.select(SPECIALS.c.id, SPECIALS.c.minutes)).fetchall():
        if row.minutes is not None:
            connection.execute(sa.update(SPECIALS).where(SPECIALS.c.id == row.id).values(each=[row.minutes]))
    with op.batch_alter_table("special_day") as batch_op:
        batch_op.drop_column("minutes")
    with op.batch_alter_table("special_day") as batch_op:
        batch_op.alter_column("each", new_column_name="minutes", existing_type=sa.JSON())
    _rewrite_weeks(lambda minutes: [minutes])


def downgrade() -> None:
    """Where grinders differ, a day keeps the minutes of the first."""
    connection = op.get_bind()
    with op.batch_alter_table("work_day") as batch_op:
        batch_op.add_column(sa.Column("minutes_available", sa.Integer(), nullable=True))
    for row in connection.execute(sa.select(DAYS)).fetchall():
        connection.execute(
            sa.text("UPDATE work_day SET minutes_available = :minutes WHERE id = :id"),
            {"id": row.id, "minutes": row.stone_minutes[0]},
        )
    with op.batch_alter_table("work_day") as batch_op:
        batch_op.drop_constraint(batch_op.f("ck_work_day_never_oversold"), type_="check")
        batch_op.alter_column("minutes_available", existing_type=sa.Integer(), nullable=False)
        batch_op.drop_column("stone_minutes")
        batch_op.drop_column("minutes_in_all")
        batch_op.create_check_constraint(
            batch_op.f("ck_work_day_never_oversold"), "minutes_committed <= minutes_available * grinders"
        )
    with op.batch_alter_table("special_day") as batch_op:
        batch_op.alter_column("minutes", new_column_name="each", existing_type=sa.JSON())
    op.add_column("special_day", sa.Column("minutes", sa.Integer(), nullable=True))
    for row in connection.execute(sa.select(SPECIALS.c.id, SPECIALS.c.each)).fetchall():
        if row.each is not None:
            connection.execute(sa.update(SPECIALS).where(SPECIALS.c.id == row.id).values(minutes=row.each[0]))
    with op.batch_alter_table("special_day") as batch_op:
        batch_op.drop_column("each")
    _rewrite_weeks(lambda minutes: minutes[0])


def _rewrite_weeks(changed: Any) -> None:
    connection = op.get_bind()
    for row in connection.execute(sa.select(WORKSHOPS)).fetchall():
        week = json.loads(row.opening_week) if isinstance(row.opening_week, str) else row.opening_week
        if week:
            made = [{**one, "minutes": changed(one["minutes"])} for one in week]
            connection.execute(sa.update(WORKSHOPS).where(WORKSHOPS.c.id == row.id).values(opening_week=made))
