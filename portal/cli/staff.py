"""People who work at the workshop."""

from __future__ import annotations

import click

from portal.cli.surroundings import now, opened_database
from portal.config import Settings
from portal.domain.access import StaffRole
from portal.domain.errors import NotNow
from portal.queries import people as find_people
from portal.services import accounts, second_factors
from portal.services import staff as work_here
from portal.services.addresses import normal_email
from portal.services.links import Links


@click.group()
def staff() -> None:
    """People who work at the workshop."""


@staff.command()
@click.argument("email")
@click.option("--name", help="What the person is called; needed for somebody new.")
@click.option(
    "--role", required=True, type=click.Choice([role.value for role in StaffRole]), help="Their part."
)
def add(email: str, name: str | None, role: str) -> None:
    """Give somebody a part at the workshop.

    Somebody new gets a letter with a link to choose a password. Repeating the command changes nothing.
    """
    settings = Settings.from_environment()
    address = normal_email(email, test_names=settings.demo)
    if address is None:
        raise click.BadParameter("This is no e-mail address.", param_hint="EMAIL")
    with opened_database(settings) as database, database.write.begin() as session:
        there = find_people.by_email(session, address)
        if there is None and not (name and name.strip()):
            raise click.UsageError("Nobody has this address yet: give their --name too.")
        if there is not None and name and name.strip() != there.name:
            click.echo(f"The name stays {there.name}: it is theirs to change.", err=True)
        links = Links(settings.secret_keys)
        enrolled = accounts.enrol(session, links, address, (name or "").strip(), StaffRole(role), now())
    if not enrolled.is_changed:
        click.echo(f"{address} is a {role} already.")
        return
    click.echo(f"{address} is a {role} now.")
    if enrolled.is_invited:
        click.echo("A letter with a link to choose a password is in the outbox.")


@staff.command()
@click.argument("email")
def remove(email: str) -> None:
    """Take somebody's part at the workshop away; their own pairs and bookings stay theirs."""
    settings = Settings.from_environment()
    with opened_database(settings) as database, database.write.begin() as session:
        person = find_people.by_email(session, email.strip())
        if person is None or person.staff_role is None:
            raise click.UsageError("Nobody of this address works here.")
        try:
            work_here.leave(session, None, person.id, now())
        except NotNow as refusal:
            raise click.UsageError(str(refusal)) from None
    click.echo(f"{email.strip()} no longer works here and is signed out.")


@staff.command("second-step")
@click.argument("email")
@click.option("--reset", is_flag=True, required=True, help="Take the second step away.")
def second_step(email: str, reset: bool) -> None:
    """Let somebody who lost their second step sign in by the password alone; they are told by letter."""
    settings = Settings.from_environment()
    with opened_database(settings) as database, database.write.begin() as session:
        person = find_people.by_email(session, email.strip())
        if person is None:
            raise click.UsageError("Nobody has this address.")
        second_factors.reset(session, None, person.id, now())
    click.echo(f"{email.strip()} signs in by the password alone now.")
