"""Runs the migrations on either database; called through ``portal.cli.upgrade`` and by the tests, never by itself."""

from __future__ import annotations

from typing import Any, Literal

import sqlalchemy as sa
from alembic import context

from portal.db.base import TextEnum, UtcDateTime
from portal.db.engine import make_engine
from portal.db.tables import Base


def plain(kind: str, item: Any, _context: Any) -> str | Literal[False]:
    """Our own column types as the plain ones they stand on: a migration must not change when our code does."""
    if kind == "type" and isinstance(item, TextEnum):
        return f"sa.String(length={item.impl_instance.length})"
    if kind == "type" and isinstance(item, UtcDateTime):
        return "sa.DateTime(timezone=True)"
    return False


def same_type(_context: Any, _inspected: Any, _metadata: Any, inspected: Any, ours: Any) -> bool | None:
    """Compare our own column types by the plain ones; leave the rest to Alembic."""
    if isinstance(ours, TextEnum):
        return not isinstance(inspected, sa.String)
    if isinstance(ours, UtcDateTime):
        return not isinstance(inspected, sa.DateTime)
    return None


url = context.config.get_main_option("sqlalchemy.url")
if url is None:
    raise SystemExit("Run migrations with `rillbook upgrade`.")
engine = make_engine(url, for_migrations=True)
with engine.connect() as connection:
    context.configure(
        connection=connection,
        target_metadata=Base.metadata,
        transactional_ddl=True,
        transaction_per_migration=True,
        compare_server_default=True,
        render_as_batch=connection.dialect.name == "sqlite",
        render_item=plain,
        compare_type=same_type,
    )
    with context.begin_transaction():
        context.run_migrations()
    if connection.dialect.name == "sqlite":
        # Foreign keys were off while tables were rebuilt, so they are checked once at the end.
        broken = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
        if broken:
            raise SystemExit(f"Rows without their parent after the migration: {broken[:5]}")
engine.dispose()
