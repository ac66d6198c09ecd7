"""One engine for a database URL, a session that reads and a session that writes, alike on SQLite and PostgreSQL."""

from __future__ import annotations

import sqlite3
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, make_url
from sqlalchemy.orm import Session, sessionmaker

# Every table is known wherever a database is open, so that each foreign key finds its other end.
from portal.db import tables as _tables  # noqa: F401

BUSY_TIMEOUT_MS = 30_000


def make_engine(url: str, *, for_migrations: bool = False) -> Engine:
    """An engine for ``url``.

    SQLite gets write-ahead logging, foreign keys and our own BEGIN: a transaction that will write takes the write lock at
    once, since one that first reads and then writes can fail with "database is locked" whatever the time-out. Migrations
    run with foreign keys off, or rebuilding a parent table would delete its children.
    """
    parsed = make_url(url)
    if parsed.get_backend_name() != "sqlite":
        return create_engine(parsed, pool_pre_ping=True)
    engine = create_engine(parsed, connect_args={"timeout": BUSY_TIMEOUT_MS / 1000})

    @event.listens_for(engine, "connect")
    def _connect(dbapi: sqlite3.Connection, _record: object) -> None:
        dbapi.isolation_level = None
        # SQLite's own knows capitals of ASCII only, and people are called Åse.
        dbapi.create_function("lower", 1, _lower, deterministic=True)
        for pragma in (
            f"foreign_keys={'OFF' if for_migrations else 'ON'}",
            f"busy_timeout={BUSY_TIMEOUT_MS}",
            "journal_mode=WAL",
            "synchronous=NORMAL",
            # What is deleted is overwritten, so that nobody reads in the file what was erased.
            "secure_delete=ON",
        ):
            dbapi.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def _begin(connection: Connection) -> None:
        write = connection.get_execution_options().get("write", False)
        connection.exec_driver_sql(f"PRAGMA query_only={0 if write or for_migrations else 1}")
        connection.exec_driver_sql("BEGIN IMMEDIATE" if write else "BEGIN")

    return engine


def _lower(value: Any) -> Any:
    return value.lower() if isinstance(value, str) else value


@dataclass(frozen=True)
class Database:
    """The two ways to talk to it. ``read`` is refused a write by the database itself, so a GET can never change anything."""

    engine: Engine
    read: sessionmaker[Session]
    write: sessionmaker[Session]

    @classmethod
    def open(cls, url: str) -> Database:
        engine = make_engine(url)
        return cls(
            engine,
            sessionmaker(engine, execution_options={"postgresql_readonly": True}),
            sessionmaker(engine, execution_options={"write": True}),
        )

    def close(self) -> None:
        """Give back every connection."""
        self.engine.dispose()
