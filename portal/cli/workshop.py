"""The workshop itself and its opening days."""

from __future__ import annotations

import re
from datetime import datetime
from decimal import Decimal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

import click
from sqlalchemy.orm import Session

from portal.cli.surroundings import now, opened_database
from portal.config import Settings
from portal.db.workshop import Workshop
from portal.domain.audit import Act
from portal.domain.pressure import DRAG_PCT, FORCE_N
from portal.domain.prices import Item
from portal.domain.rework import DAYS as REWORK_DAYS
from portal.domain.stone_minutes import Minutes, read_minutes
from portal.domain.words import Phrase
from portal.queries import workshop as find_workshop
from portal.services import audit, days, holds, prices
from portal.services import workshop as workshops
from portal.services.addresses import normal_email

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
MOST_HOLD_HOURS = 24 * 60
MOST_GRINDERS, MOST_DRESS_MINUTES, MOST_LIFE_PAIRS = 8, 240, 1000
MOST_PERCENT = 100
MOST_EXPRESS_DAYS = 30


class StoneMinutes(click.ParamType[Minutes]):
    """Minutes of the grinders."""

    name = "minutes"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> Minutes:
        found = read_minutes(str(value))
        if isinstance(found, Phrase):
            self.fail(f"{found}.", param, ctx)
        return found


class Weekdays(click.ParamType[frozenset[int]]):
    """Short names of weekdays after commas; gives their numbers, 0 for Monday."""

    name = "days"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> frozenset[int]:
        names = [part.strip().lower() for part in str(value).split(",") if part.strip()]
        unknown = [name for name in names if name not in WEEKDAYS]
        if unknown or not names:
            self.fail(f"Write weekdays as {','.join(WEEKDAYS)}.", param, ctx)
        return frozenset(WEEKDAYS.index(name) for name in names)


@click.group()
def workshop() -> None:
    """The workshop itself and its opening days."""


@workshop.command("set")
@click.option("--name", help="What the workshop is called.")
@click.option("--email", help="Where answers to letters go.")
@click.option("--phone", help="As people dial it, with the country's code.")
@click.option("--address", help=r"Lines of the postal address, with \n between them.")
@click.option("--timezone", help="An IANA name, such as Europe/Oslo.")
@click.option("--currency", help="An ISO 4217 code, such as EUR.")
@click.option(
    "--wheel-force",
    type=click.IntRange(*FORCE_N),
    help="Newtons the drive wheel presses a ski on the stone with, for the pressure along the ski.",
)
@click.option(
    "--wheel-drag",
    type=click.IntRange(*DRAG_PCT),
    help="Per cent of that force with which the wheel also pulls the ski along.",
)
@click.option(
    "--grinders",
    type=click.IntRange(1, MOST_GRINDERS),
    help="Machines that run side by side, from today on; 1 in a new workshop.",
)
@click.option(
    "--dress-minutes",
    type=click.IntRange(0, MOST_DRESS_MINUTES),
    help="Minutes of a dressing with its test cut, from today on; 12 in a new workshop.",
)
@click.option(
    "--life-pairs",
    type=click.IntRange(1, MOST_LIFE_PAIRS),
    help="Pairs that one dressing serves, from today on; 25 in a new workshop.",
)
@click.option(
    "--express-days",
    type=click.IntRange(0, MOST_EXPRESS_DAYS),
    help="A ready day no more working days than these after the skis are here costs express; 0 for never.",
)
@click.option(
    "--deposit",
    type=click.IntRange(0, MOST_PERCENT),
    help="Per cent of a bill that are due once a booking is confirmed; 0 for none.",
)
@click.option(
    "--hold-hours",
    type=click.IntRange(0, MOST_HOLD_HOURS),
    help="How long time on the stone is held without an answer; 0 for as long as it takes, 72 in a new workshop.",
)
@click.option(
    "--rework-days",
    type=click.IntRange(*REWORK_DAYS),
    help="For how many days a grind is made good at no charge; 30 in a new workshop.",
)
def set_(
    name: str | None,
    email: str | None,
    phone: str | None,
    address: str | None,
    timezone: str | None,
    currency: str | None,
    wheel_force: int | None,
    wheel_drag: int | None,
    grinders: int | None,
    dress_minutes: int | None,
    life_pairs: int | None,
    express_days: int | None,
    deposit: int | None,
    hold_hours: int | None,
    rework_days: int | None,
) -> None:
    """Set up the workshop, or change what is given and leave the rest."""
    settings = Settings.from_environment()
    if email is not None:
        email = normal_email(email, test_names=settings.demo)
        if email is None:
            raise click.BadParameter("This is no e-mail address.", param_hint="--email")
    if timezone is not None and not _is_zone(timezone):
        raise click.BadParameter("There is no such time zone.", param_hint="--timezone")
    if currency is not None and not re.fullmatch(r"[A-Z]{3}", currency):
        raise click.BadParameter(
            "A currency has three capital letters, such as EUR.", param_hint="--currency"
        )
    with opened_database(settings) as database, database.write.begin() as session:
        if find_workshop.the_or_none(session) is None and not (name and name.strip()):
            raise click.UsageError("There is no workshop yet: give its --name too.")
        made = workshops.set_up(
            session,
            name=name.strip() if name else None,
            email=email,
            phone=phone,
            address=address.replace("\\n", "\n") if address is not None else None,
            timezone=timezone,
            currency=currency,
            wheel_force_n=wheel_force,
            wheel_drag_pct=wheel_drag,
            hold_hours=hold_hours,
            rework_days=rework_days,
            express_days=express_days,
            deposit_percent=deposit,
        )
        given = [option for option, value in click.get_current_context().params.items() if value is not None]
        audit.note(session, None, Act.WORKSHOP_SET, now(), made.name, ", ".join(given))
        click.echo(f"The workshop is {made.name}.")
        if any(given is not None for given in (grinders, dress_minutes, life_pairs)):
            session.flush()
            changed = days.set_stone(
                session,
                made,
                holds.day_at(made, now()),
                grinders=grinders,
                dress_minutes=dress_minutes,
                life_pairs=life_pairs,
            )
            click.echo(f"Days reckoned anew: {changed}.")


def _is_zone(name: str) -> bool:
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return False
    return True


@workshop.command("open")
@click.argument("first", type=click.DateTime(["%Y-%m-%d"]))
@click.argument("last", type=click.DateTime(["%Y-%m-%d"]))
@click.option("--weekdays", required=True, type=Weekdays(), help="Such as mon,tue,wed.")
@click.option(
    "--minutes",
    required=True,
    type=StoneMinutes(),
    help="Stone minutes on each day: 480 for every grinder, or 480,240 for two in their order.",
)
def open_(first: datetime, last: datetime, weekdays: frozenset[int], minutes: Minutes) -> None:
    """Open the workshop from FIRST to LAST (as in 2026-11-02) on some weekdays.

    A day that is open already gets the new minutes, unless more than that is promised on it.
    """
    if last < first:
        raise click.UsageError("The last day is before the first.")
    settings = Settings.from_environment()
    with opened_database(settings) as database, database.write.begin() as session:
        _the_workshop(session)
        changed = days.open_days(session, first.date(), last.date(), weekdays, minutes)
    click.echo(f"Opened or changed: {changed} days.")


def _the_workshop(session: Session) -> Workshop:
    here = find_workshop.the_or_none(session)
    if here is None:
        raise click.UsageError("There is no workshop yet: begin with `rillbook workshop set`.")
    return here


class Money(click.ParamType[Decimal]):
    """A number with at most two decimals that is not below zero."""

    name = "amount"

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> Decimal:
        text = str(value).strip().replace(",", ".")
        if not re.fullmatch(r"\d{1,7}(\.\d{1,2})?", text):
            self.fail("Write a number such as 49 or 49.50.", param, ctx)
        return Decimal(text)


@workshop.command()
@click.argument("item", type=click.Choice([item.value for item in Item]))
@click.argument("amount", type=Money())
@click.option(
    "--from",
    "first",
    type=click.DateTime(["%Y-%m-%d"]),
    help="The first day of the price; today if left out.",
)
def price(item: str, amount: Decimal, first: datetime | None) -> None:
    """Set what ITEM costs, tax included, until its next price. Bookings keep the prices they were made with."""
    settings = Settings.from_environment()
    with opened_database(settings) as database, database.write.begin() as session:
        here = _the_workshop(session)
        day = first.date() if first else now().astimezone(ZoneInfo(here.timezone)).date()
        workshops.set_price(session, Item(item), amount, day)
        click.echo(f"{item}: {amount:.2f} {here.currency} from {day} on.")


@workshop.command()
@click.argument("item", type=click.Choice([item.value for item in Item]))
@click.argument("percent", type=Money())
@click.option(
    "--from",
    "first",
    type=click.DateTime(["%Y-%m-%d"]),
    help="The first day of the rate; today if left out.",
)
def tax(item: str, percent: Decimal, first: datetime | None) -> None:
    """Set the value-added tax that the price of ITEM includes, in per cent. Bookings keep the rates they were made with."""
    if percent > MOST_PERCENT:
        raise click.UsageError("A rate of tax is at most 100 %.")
    settings = Settings.from_environment()
    with opened_database(settings) as database, database.write.begin() as session:
        here = _the_workshop(session)
        day = first.date() if first else now().astimezone(ZoneInfo(here.timezone)).date()
        prices.write_rate(session, Item(item), percent, day)
        click.echo(f"{item}: {percent} % from {day} on.")


@workshop.command()
@click.argument("from_pairs", type=click.IntRange(1, 10_000))
@click.argument("percent", type=Money())
def tier(from_pairs: int, percent: Decimal) -> None:
    """Set what a club saves, in per cent, when it orders for FROM_PAIRS pairs or more; 0 takes the tier away."""
    if percent > MOST_PERCENT:
        raise click.UsageError("A club cannot save more than everything.")
    settings = Settings.from_environment()
    with opened_database(settings) as database, database.write.begin() as session:
        workshops.set_tier(session, from_pairs, percent)
    click.echo(f"From {from_pairs} pairs on a club saves {percent} %.")
