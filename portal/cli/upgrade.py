"""Bring the database to the newest shape and fill an empty catalogue."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click
from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory

from portal.cli.surroundings import opened_database
from portal.config import Settings
from portal.db.engine import make_engine
from portal.reference import default_folder, load
from portal.services import catalogue

MIGRATIONS = Path(__file__).resolve().parents[2] / "migrations"


def alembic_config(url: str) -> Config:
    """The settings of the migrations for this database; there is no ini file."""
    config = Config()
    config.set_main_option("script_location", str(MIGRATIONS).replace("%", "%%"))
    # The ini format fills in what stands after a percent sign, and passwords in URLs are percent-encoded.
    config.set_main_option("sqlalchemy.url", url.replace("%", "%%"))
    return config


def current_revision(url: str) -> str | None:
    """Where the database stands; nothing for an empty one."""
    engine = make_engine(url)
    try:
        with engine.connect() as connection:
            return MigrationContext.configure(connection).get_current_revision()
    finally:
        engine.dispose()


def newest_revision(url: str) -> str | None:
    """Where the migrations end."""
    return ScriptDirectory.from_config(alembic_config(url)).get_current_head()


@click.command()
@click.option(
    "--to", "revision", default="head", show_default=True, metavar="REV", help="Stop at this revision."
)
def upgrade(revision: str) -> None:
    """Bring the database to the newest shape, and fill an empty catalogue."""
    settings = Settings.from_environment()
    url = settings.database_url
    before = current_revision(url)
    command.upgrade(alembic_config(url), revision)
    after = current_revision(url)
    for step in _steps(url, before, after):
        click.echo(step)
    click.echo(
        "The database is up to date." if after == newest_revision(url) else f"The database is at {after}."
    )
    if after == newest_revision(url):
        _fill_catalogue(settings)


def _steps(url: str, before: str | None, after: str | None) -> list[str]:
    if before == after:
        return []
    script = ScriptDirectory.from_config(alembic_config(url))
    steps = script.iterate_revisions(after, before)
    return [f"Done: {step.revision} {step.doc}" for step in reversed(list(steps))]


def _fill_catalogue(settings: Settings) -> None:
    reference = load(settings.shared_folder or default_folder())
    with opened_database(settings) as database, database.write.begin() as session:
        count = catalogue.fill_if_empty(session, reference, datetime.now(UTC))
    if count:
        click.echo(f"The catalogue was empty and now holds {count} structures.")
