"""Clubs and who manages them."""

from __future__ import annotations

import click

from portal.cli.surroundings import now, opened_database
from portal.config import Settings
from portal.queries import people as find_people
from portal.services import clubs


@click.group()
def club() -> None:
    """Clubs and who manages them."""


@club.command()
@click.argument("name")
@click.option("--manager", required=True, help="E-mail address of somebody who has signed up.")
@click.option("--address", help=r"Lines of the postal address, with \n between them.")
def add(name: str, manager: str, address: str | None) -> None:
    """Make somebody a manager of the club called NAME, and the club where there is none of that name."""
    if not name.strip():
        raise click.UsageError("Give the club a name.")
    settings = Settings.from_environment()
    with opened_database(settings) as database, database.write.begin() as session:
        person = find_people.by_email(session, manager.strip())
        if person is None or person.confirmed_at is None:
            raise click.UsageError("Nobody has confirmed this address yet: ask them to sign up first.")
        lines = address.replace("\\n", "\n") if address is not None else None
        made = clubs.appoint(session, person.id, name.strip(), lines, now())
    click.echo(f"{name.strip()} is {'new' if made.is_founded else 'here already'}.")
    click.echo(f"{manager.strip()} manages it {'now' if made.is_appointed else 'already'}.")
