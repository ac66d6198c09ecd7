"""A season of the workshop in a real browser: asked for, offered otherwise, taken at the counter, too thin, cut badly, ground again,
handed back, paid and looked back on."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable
from typing import Any

from pypdf import PdfReader
from sqlalchemy import select

from portal.db.bookings import Booking, BookingItem
from portal.db.engine import Database
from portal.db.grinds import Grind
from portal.db.pairs import Pair
from portal.domain.answers import Discipline
from portal.domain.bookings import Stage, Status
from portal.queries import catalogue as find_structures
from portal.queries import days as find_days
from tests.browser.conftest import DESK, PHONE, Person
from tests.browser.post import post_office
from tests.browser.test_journeys import book
from tests.cast import Cast

Browse = Callable[..., Person]
TABLET = {"width": 820, "height": 1180}
# The workshop's minimum, in micrometres.
MINIMUM = 500


class Season:
    """Who takes part, and what they do, one act after the other."""

    def __init__(self, browse: Browse, database: Database, cast: Cast) -> None:
        self.database = database
        self.skier = browse(cast.alice, viewport=PHONE)
        self.desk = browse(cast.mia, viewport=DESK)
        self.bench = browse(cast.tina, viewport=TABLET)

    def one(self, query: Any) -> Any:
        """The one thing that a query finds."""
        with self.database.read() as session:
            return session.scalars(query).one()

    def heaviest(self) -> tuple[str, int]:
        """The structure for skating that costs the most base: its key, and how much in micrometres."""
        with self.database.read() as session:
            rows = [(find_structures.value(row), row.key) for row in find_structures.all_current(session)]
        removal, key = max(
            (value.removal_um, key) for value, key in rows if Discipline.SKATE in value.disciplines
        )
        return key, removal

    def item_of(self, reference: str) -> BookingItem:
        """The one pair of a booking."""
        rows = select(BookingItem).join(Booking).where(Booking.reference == reference)
        return self.one(rows)

    def is_offered_otherwise(self, reference: str) -> None:
        self.desk.go("/shop/requests")
        self.desk.follow(reference)
        self.desk.follow("Offer something else")
        self.desk.page.locator("input[name=ready]:not(:checked)").last.check()
        self.desk.page.locator("textarea[name=reason]").fill("The stone is away for two days.")
        self.desk.page.locator("input[name=price]").fill("forty")
        self.desk.post()
        assert self.desk.page.title().startswith("Error: ")
        self.desk.page.locator("input[name=price]").fill("40.00")
        self.desk.page.locator("textarea[name=price_own]").fill("Because you had to wait.")
        self.desk.post()

    def comes_to_the_counter(self) -> str:
        """Somebody nobody knows, with a pair that nobody knows; gives the reference."""
        desk = self.bench
        desk.go("/shop/bookings/new")
        desk.page.locator("input[name=words]").fill("Sunniva Larkmoor")
        desk.press("Find")
        desk.follow("Book for somebody new")
        assert desk.page.locator("input[name=name]").input_value() == "Sunniva Larkmoor"
        desk.page.locator("input[name=phone]").fill("+00 555 0177")
        desk.page.locator("input[name=maker]").fill("Skarlund")
        desk.page.get_by_label("Skate", exact=True).check()
        desk.page.locator("select[name=structure_new]").select_option(index=1)
        desk.press("Reckon the days and the price again")
        desk.page.locator("input[name=ready]").first.check()
        desk.press("Book and confirm")
        found = re.search(r"\b[A-Z0-9]{3}-[A-Z0-9]{4}\b", desk.heading)
        assert found, desk.words
        return found[0]

    def is_checked_in(self, item_id: int, um: int) -> None:
        bench = self.bench
        bench.go(f"/shop/pairs/{item_id}/check-in")
        bench.post()
        assert bench.page.title().startswith("Error: "), "whether the skis belong together is always asked"
        bench.page.locator("input[name=match]").first.check()
        bench.page.locator("input[name=base_middle]").fill(str(um))
        bench.post()

    def is_ground(self, item_id: int, *, reject_first: bool = False) -> None:
        """Every step of the pair's work, each on a dressing whose test cut is signed off."""
        bench = self.bench
        for _ in range(6):
            if self.one(select(BookingItem).where(BookingItem.id == item_id)).stage is Stage.GROUND:
                return
            bench.go("/shop/bench")
            bench.page.get_by_role("button", name=re.compile("^Begin the run")).first.click()
            self.is_dressed()
            if reject_first:
                bench.page.get_by_text("Reject it and dress again").click()
                bench.page.locator("details[open] select").first.select_option(index=1)
                bench.page.get_by_role("button", name="Reject the test cut").click()
                bench.page.get_by_text("The last test cut was rejected:").wait_for()
                bench.look()
                assert not bench.page.get_by_role("button", name=re.compile("^Done")).count()
                self.is_dressed()
                reject_first = False
            bench.page.get_by_label("Depth measured").first.fill("11,5")
            bench.page.get_by_role("button", name="Sign off the test cut").click()
            bench.page.get_by_text("The pairs can be ground.").wait_for()
            bench.page.locator(".run-pair[open]").get_by_role("button", name=re.compile("^Done")).click()
            bench.page.get_by_text("1 of 1 pair done").wait_for()
            bench.look()
        raise AssertionError("the pair is never through")

    def is_dressed(self) -> None:
        """The stone is dressed for the run that is open, and nothing can be recorded before its test cut is looked at."""
        bench = self.bench
        bench.page.get_by_label("Diamond").first.select_option(label="None of this workshop")
        bench.page.get_by_role("button", name="The stone is dressed").first.click()
        bench.page.get_by_role("button", name="Sign off the test cut").wait_for()
        bench.look()
        assert not bench.page.get_by_role("button", name=re.compile("^Done")).count()

    def goes_back(self, reference: str, to: str) -> None:
        bench = self.bench
        booking_id = self.one(select(Booking.id).where(Booking.reference == reference))
        bench.go(f"/shop/bookings/{booking_id}/hand-back")
        bench.post()
        assert bench.page.title().startswith("Error: "), "who takes the skis is always asked"
        bench.page.locator("input[name=taken_by]").fill(to)
        bench.page.locator("input[name=checks]").first.check()
        bench.post()
        with self.database.read() as session:
            assert session.get_one(Booking, booking_id).status is Status.COMPLETED

    def is_paid(self, reference: str) -> None:
        desk = self.desk
        booking_id = self.one(select(Booking.id).where(Booking.reference == reference))
        desk.go(f"/shop/bookings/{booking_id}/payments")
        owed = desk.page.locator("input[name=amount]").input_value()
        desk.page.locator("input[name=amount]").fill("9999")
        desk.press("Write down the payment")
        assert desk.page.title().startswith("Error: ")
        desk.page.locator("input[name=amount]").fill(owed)
        desk.page.locator("input[name=method]").first.check()
        desk.press("Write down the payment")
        link = desk.page.get_by_role("link", name=re.compile("^Receipt")).first.get_attribute("href")
        paper = desk.context.request.get(desk.site + str(link))
        words = PdfReader(io.BytesIO(paper.body())).pages[0].extract_text()
        assert reference in words
        assert owed in words


def test_a_whole_season(browse: Browse, database: Database, database_url: str, site: str, cast: Cast) -> None:
    season = Season(browse, database, cast)
    skier, desk, bench = season.skier, season.desk, season.bench
    heavy, removal = season.heaviest()
    with post_office(database_url, site) as office:
        # Asked for, offered on another day at another price, and taken.
        skier.go("/my/book")
        first = book(skier, heavy)
        season.is_offered_otherwise(first)
        skier.go(office.link_to(cast.alice.email))
        assert "Because you had to wait." in skier.words
        skier.press("Accept the offer")
        booking = season.one(select(Booking).where(Booking.reference == first))
        assert (booking.status, f"{booking.total:.2f}") == (Status.CONFIRMED, "40.00")

        # Somebody at the counter.
        second = season.comes_to_the_counter()
        slip = bench.page.get_by_role("link", name=re.compile("slip")).first.get_attribute("href")
        paper = bench.context.request.get(site + str(slip))
        assert second in PdfReader(io.BytesIO(paper.body())).pages[0].extract_text()

        # A base that is too thin for the work stops it, and its owner decides.
        item = season.item_of(first)
        season.is_checked_in(item.id, MINIMUM + removal - 1)
        assert season.item_of(first).stage is Stage.STOPPED
        letter = office.last_to(cast.alice.email)
        assert letter["Subject"] == f"We need your decision on a pair in {first}"
        skier.go(office.link_to(cast.alice.email))
        if "/stopped" not in skier.page.url:
            skier.page.get_by_role("link", name=re.compile("^Decide about")).first.click()
            skier.look()
        skier.page.locator("input[name=way]").first.check()
        skier.press("Send the answer")
        lighter = season.item_of(first)
        assert lighter.stage is Stage.CHECKED_IN
        assert lighter.structure_id != item.structure_id

        # The run: a test cut that is rejected, another dressing, and the record.
        season.is_ground(item.id, reject_first=True)
        other = season.item_of(second)
        season.is_checked_in(other.id, 1200)
        season.is_ground(other.id)

        # One of them comes out uneven and is ground again at no charge.
        pair = season.one(select(Pair).where(Pair.id == other.pair_id))
        bench.go(f"/shop/pair/{pair.id}")
        bench.follow("Grind it again at no charge")
        bench.page.locator("select[name=listed]").select_option(index=1)
        bench.page.locator("input[name=ready]").first.check()
        bench.press("Make the booking")
        again = season.one(
            select(Booking)
            .join(BookingItem)
            .where(BookingItem.pair_id == pair.id, Booking.reference != second)
        )
        assert (again.status, again.total) == (Status.CONFIRMED, 0)
        season.is_ground(season.item_of(again.reference).id)

        # Back to their owners, and paid.
        season.goes_back(first, "Alice")
        season.goes_back(again.reference, "Sunniva Larkmoor")
        season.is_paid(first)
        season.is_paid(second)
        with database.read() as session:
            assert not find_days.drift(session)
            assert not find_days.oversold(session)
            assert len(list(session.scalars(select(Grind)))) == 3

    # Looking back.
    desk.go("/shop/takings")
    assert "40.00" in desk.words
    desk.go("/shop/reports")
    ways = desk.page.locator("main a[href^='/shop/reports/']").evaluate_all(
        "all => all.map(one => one.pathname)"
    )
    assert ways
    taken_along = 0
    for way in dict.fromkeys(ways):
        desk.go(way)
        for kind in ("csv", "xlsx"):
            link = desk.page.locator(f"main a[href*='{kind}']")
            if link.count():
                file = desk.context.request.get(site + str(link.first.get_attribute("href")))
                assert file.ok
                taken_along += 1
                if kind == "csv":
                    assert list(csv.reader(io.StringIO(file.body().decode("utf-8-sig"))))
    assert taken_along >= 10
    desk.go("/shop/audit")
    assert "Tina" in desk.words
