"""A workshop of one's own, from an empty database to a booking, by commands alone."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from sqlalchemy import select

from portal.db.clubs import Club, ClubManager
from portal.db.engine import Database
from portal.db.money import TaxRate
from portal.db.people import LoginSession, Person
from portal.db.workshop import ClubTier, Price, Workshop
from portal.domain.prices import Item
from portal.reference import default_folder, load
from portal.services import billing, catalogue
from tests import make
from tests.cli.test_commands import environ, every, run

__all__ = ["environ"]


def test_after_the_steps_of_the_readme_a_skier_can_book(environ: dict[str, str], database: Database) -> None:
    today = datetime.now(UTC).date()
    with database.write.begin() as session:
        catalogue.fill_if_empty(session, load(default_folder()), datetime.now(UTC))
    run(environ, "workshop", "set", "--name", "Hollowmere Ski Grinding", "--email", "desk@hollowmere.test")
    last = (today + timedelta(days=30)).isoformat()
    run(
        environ,
        "workshop",
        "open",
        today.isoformat(),
        last,
        "--weekdays",
        "mon,tue,wed,thu,fri,sat,sun",
        "--minutes",
        "300",
    )
    for item, amount in (("grind", "49"), ("flattening", "18,50"), ("saturation", "15.00")):
        run(environ, "workshop", "price", item, amount)
    with database.write.begin() as session:
        skier = make.person(session)
        made = make.booking(
            session,
            skier,
            wanted=[make.wanted(session, make.pair(session, skier), flattening=True)],
            hand_in=today + timedelta(days=1),
            ready=today + timedelta(days=3),
            today=today,
            now=datetime.now(UTC),
        )
        assert billing.bill_of(made).total == Decimal("67.50")


def test_a_price_is_set_for_a_day_and_set_again(environ: dict[str, str], database: Database) -> None:
    assert "begin with" in run(environ, "workshop", "price", "grind", "49", status=2).stderr
    run(environ, "workshop", "set", "--name", "Hollowmere Ski Grinding")
    run(environ, "workshop", "price", "grind", "49", "--from", "2026-09-01")
    run(environ, "workshop", "price", "grind", "52.5", "--from", "2026-09-01")
    (price,) = every(database, Price)
    assert (price.item, price.amount, price.valid_from) == (Item.GRIND, Decimal("52.50"), date(2026, 9, 1))


@pytest.mark.parametrize("amount", ["-1", "free", "1.234", "1e3", "99999999"])
def test_a_price_that_cannot_be_is_refused(environ: dict[str, str], amount: str, database: Database) -> None:
    run(environ, "workshop", "set", "--name", "Hollowmere Ski Grinding")
    run(environ, "workshop", "price", "grind", "--", amount, status=2)
    assert every(database, Price) == []


def test_a_tier_is_set_changed_and_taken_away(environ: dict[str, str], database: Database) -> None:
    run(environ, "workshop", "tier", "10", "5")
    run(environ, "workshop", "tier", "10", "7.5")
    (tier,) = every(database, ClubTier)
    assert (tier.from_pairs, tier.percent) == (10, Decimal("7.50"))
    run(environ, "workshop", "tier", "10", "0")
    assert every(database, ClubTier) == []
    assert "more than everything" in run(environ, "workshop", "tier", "10", "101", status=2).stderr


def test_a_club_is_founded_once_and_gets_managers_who_signed_up(
    environ: dict[str, str], database: Database
) -> None:
    with database.write.begin() as session:
        make.person(session, email="cora@example.test")
        make.person(session, email="dora@example.test")
        make.person(session, email="new@example.test", confirmed_at=None)
    for stranger in ("nobody@example.test", "new@example.test"):
        told = run(environ, "club", "add", "Alder Valley", "--manager", stranger, status=2).stderr
        assert "ask them to sign up first" in told
    run(
        environ,
        "club",
        "add",
        "Alder Valley",
        "--manager",
        "cora@example.test",
        "--address",
        r"Hut 1\nValley",
    )
    run(environ, "club", "add", "Alder Valley", "--manager", "dora@example.test")
    again = run(environ, "club", "add", "Alder Valley", "--manager", "dora@example.test").stdout
    assert "manages it already" in again
    (club,) = every(database, Club)
    assert club.address == "Hut 1\nValley"
    assert len(every(database, ClubManager)) == 2


def test_somebody_who_leaves_loses_their_part_and_is_signed_out(
    environ: dict[str, str], database: Database
) -> None:
    with database.write.begin() as session:
        tina = make.technician(session, email="tina@example.test")
        make.login(session, tina)
    run(environ, "staff", "remove", "Tina@example.test")
    with database.read() as session:
        assert session.scalars(select(Person.staff_role)).one() is None
    assert every(database, LoginSession) == []
    assert (
        "Nobody of this address works here"
        in run(environ, "staff", "remove", "tina@example.test", status=2).stderr
    )
    run(environ, "staff", "remove", "nobody@example.test", status=2)


def test_a_tax_rate_is_set_for_a_day_and_set_again(environ: dict[str, str], database: Database) -> None:
    run(environ, "workshop", "set", "--name", "Hollowmere Ski Grinding")
    run(environ, "workshop", "tax", "grind", "24", "--from", "2026-09-01")
    run(environ, "workshop", "tax", "grind", "25,5", "--from", "2026-09-01")
    (rate,) = every(database, TaxRate)
    assert (rate.item, rate.percent, rate.valid_from) == (Item.GRIND, Decimal("25.50"), date(2026, 9, 1))
    assert "at most 100" in run(environ, "workshop", "tax", "grind", "101", status=2).stderr


def test_express_and_deposit_are_set(environ: dict[str, str], database: Database) -> None:
    run(environ, "workshop", "set", "--name", "Hollowmere", "--express-days", "2", "--deposit", "30")
    (here,) = every(database, Workshop)
    assert (here.express_days, here.deposit_percent) == (2, 30)
