"""The pages that move a booking and take a pair out, as a skier, a club and the workshop see them."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest
from sqlalchemy import select

from portal.db.audit import AuditEntry
from portal.db.bookings import Booking
from portal.db.engine import Database
from portal.domain.audit import Act
from portal.domain.bookings import Status
from portal.domain.change_rules import ChangeRules
from portal.queries import bookings as find_bookings
from portal.queries import days as find_days
from portal.queries import workshop as find_workshop
from portal.services import booking_changes, bookings, change_terms
from tests import make
from tests.cast import Cast
from tests.make import NOW
from tests.page import Visitor

FRIDAY, MONDAY = date(2026, 12, 11), date(2026, 12, 14)


@pytest.fixture
def booking_id(database: Database, cast: Cast) -> int:
    """Two pairs of Alice's, confirmed."""
    with database.write.begin() as session:
        alice = make.find_people.one(session, cast.alice.person_id)
        wanted = [make.wanted(session, make.pair(session, alice)) for _ in range(2)]
        made = make.booking(session, alice, wanted=wanted)
        bookings.confirm(session, cast.mia, made.id, NOW)
        return made.id


@pytest.fixture
def order_id(database: Database, cast: Cast) -> int:
    """Two pairs of Alder Valley's, asked for."""
    with database.write.begin() as session:
        cora = make.find_people.one(session, cast.cora.person_id)
        wanted = [
            make.wanted(session, make.pair(session, club_id=cast.club_id, junior_id=cast.junior_id))
            for _ in range(2)
        ]
        return make.booking(session, cora, wanted=wanted, club_id=cast.club_id).id


def read(database: Database, booking_id: int) -> Booking:
    with database.read() as session:
        return find_bookings.whole(session, booking_id)


def test_a_skier_moves_a_booking(visitor: Visitor, cast: Cast, booking_id: int, database: Database) -> None:
    alice = visitor.as_(cast.alice)
    page = alice.get(f"/my/bookings/{booking_id}")
    page = alice.get(next(link for link in page.links if link.endswith("/move")))
    assert "now ready on Fri 11 December 2026" in page.text
    assert "Choose a day" in alice.send(page, ready="2027-06-01").text
    page = alice.send(page, ready=MONDAY.isoformat())
    assert "The booking has a new day" in page.text
    assert read(database, booking_id).ready_on == MONDAY


def test_a_day_that_fills_up_meanwhile_is_told_at_the_field(
    visitor: Visitor, cast: Cast, booking_id: int, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    page = alice.get(f"/my/bookings/{booking_id}/move")
    with database.write.begin() as session:
        days = find_days.between(session, date(2026, 12, 9), date(2026, 12, 9))
        make.fill_days(session, days)
    page = alice.send(page, ready="2026-12-09")
    assert "Choose a day" in page.text, "a day that is full is not among the choices any more"
    assert "The stone is full on this day" in page.text
    assert read(database, booking_id).ready_on == FRIDAY


def test_a_skier_takes_a_pair_out_and_is_asked_first(
    visitor: Visitor, cast: Cast, booking_id: int, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    page = alice.get(f"/my/bookings/{booking_id}")
    out = [link for link in page.links if link.endswith("/take-out")]
    assert len(out) == 2
    page = alice.get(out[0])
    assert page.h1.startswith("Take out Fennmark")
    assert "1 pair stays" in page.text
    assert len(read(database, booking_id).items) == 2
    page = alice.send(page)
    assert "is taken out" in page.text
    assert len(read(database, booking_id).items) == 1
    assert not [link for link in page.links if link.endswith("/take-out")], "the last pair stays"
    rest = read(database, booking_id).items[0].id
    assert "only pair" in alice.post(f"/my/bookings/{booking_id}/pairs/{rest}/take-out", status=409).text


def test_what_is_not_theirs_does_not_exist(
    visitor: Visitor, cast: Cast, booking_id: int, order_id: int, database: Database
) -> None:
    carl, dora, alice = visitor.as_(cast.carl), visitor.as_(cast.dora), visitor.as_(cast.alice)
    item = read(database, booking_id).items[0].id
    of_order = read(database, order_id).items[0].id
    carl.get(f"/my/bookings/{booking_id}/move", status=404)
    carl.get(f"/my/bookings/{booking_id}/pairs/{item}/take-out", status=404)
    alice.get(f"/my/bookings/{booking_id}/pairs/{of_order}/take-out", status=404)
    dora.get(f"/club/{cast.other_club_id}/orders/{order_id}/move", status=404)
    dora.get(f"/club/{cast.club_id}/orders/{order_id}/pairs/{of_order}/take-out", status=404)
    visitor.as_(cast.tina).get(f"/shop/bookings/{booking_id}/move", status=403)
    visitor.as_(cast.mia).get(f"/my/bookings/{booking_id}/move", status=403)


def test_a_club_moves_its_order_and_takes_a_pair_out(
    visitor: Visitor, cast: Cast, order_id: int, database: Database
) -> None:
    cora = visitor.as_(cast.cora)
    url = f"/club/{cast.club_id}/orders/{order_id}"
    page = cora.send(cora.get(f"{url}/move"), ready=MONDAY.isoformat())
    assert "The booking has a new day" in page.text
    page = cora.get(next(link for link in cora.get(url).links if link.endswith("/take-out")))
    assert "the club's rebate" in page.text
    page = cora.send(page)
    assert "is taken out" in page.text
    assert (read(database, order_id).ready_on, len(read(database, order_id).items)) == (MONDAY, 1)


def test_the_workshop_moves_a_booking_and_says_why(
    visitor: Visitor, cast: Cast, booking_id: int, order_id: int, database: Database
) -> None:
    mia = visitor.as_(cast.mia)
    page = mia.get(f"/shop/bookings/{booking_id}")
    page = mia.get(next(link for link in page.links if link.endswith("/move")))
    page = mia.send(page, ready=MONDAY.isoformat(), own=" ")
    assert "Choose a reason from the list" in page.text
    page = mia.send(page, listed="machine", own="The stone has a crack")
    assert "The booking has a new day" in page.text
    assert "The grinder has to be repaired first. The stone has a crack" in page.text
    assert "11 Dec 2026 → 14 Dec 2026" in page.text
    assert read(database, booking_id).ready_on == MONDAY
    asked = mia.get(f"/shop/bookings/{order_id}")
    assert not [link for link in asked.links if link.endswith("/move")], "a request is answered with an offer"


def test_when_nothing_can_be_promised_the_page_says_so(
    visitor: Visitor, cast: Cast, booking_id: int, database: Database
) -> None:
    with database.write.begin() as session:
        rows = find_days.between(session, date(2026, 12, 9), date(2027, 12, 31))
        for row in rows:
            row.run((row.minutes_committed,), 1)
    page = visitor.as_(cast.alice).get(f"/my/bookings/{booking_id}/move")
    assert "No other day can be promised" in page.text


FREE, LAST = 3, 0


def set_rules(database: Database, cast: Cast, free: int | None, last: int | None) -> None:
    """Ten for another day, five for a pair, twenty for cancelling; hand-in is on Tuesday, and today is Monday."""
    with database.write.begin() as session:
        rules = ChangeRules(free, last, Decimal("10.00"), Decimal("5.00"), Decimal("20.00"))
        change_terms.keep_rules(session, cast.mia, rules, 72, NOW)


def test_a_fee_is_shown_before_it_is_agreed_to_and_stands_on_the_bill(
    visitor: Visitor, cast: Cast, booking_id: int, database: Database
) -> None:
    set_rules(database, cast, FREE, LAST)
    alice = visitor.as_(cast.alice)
    page = alice.get(f"/my/bookings/{booking_id}")
    assert (
        "By now another day costs €10.00, a pair taken out €5.00, cancelling €20.00. It can be changed until"
        in page.text
    )
    page = alice.get(f"/my/bookings/{booking_id}/move")
    assert "This change costs €10.00" in page.text
    alice.send(page, ready=MONDAY.isoformat())
    made = read(database, booking_id)
    assert (made.ready_on, str(made.total)) == (MONDAY, "108.00")
    page = alice.get(f"/my/bookings/{booking_id}/pairs/{made.items[1].id}/take-out")
    assert "This change costs €5.00" in page.text
    page = alice.send(page)
    assert "The bill before: Grind 2 × €49.00, Fee for another day 1 × €10.00; in all €108.00" in page.text
    assert str(read(database, booking_id).total) == "64.00"
    page = alice.get(f"/my/bookings/{booking_id}/cancel")
    assert "Cancelling costs €20.00 by now" in page.text
    assert "Nothing is to be paid" not in page.text
    page = alice.send(page)
    assert "What is left to pay is €35.00" in page.text
    assert str(read(database, booking_id).total) == "35.00"


def test_a_fee_that_was_not_shown_is_not_charged(
    visitor: Visitor, cast: Cast, booking_id: int, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    opened = alice.get(f"/my/bookings/{booking_id}/move")
    set_rules(database, cast, FREE, LAST)
    page = alice.send(opened, ready=MONDAY.isoformat(), status=409)
    assert "By now this change costs 10.00 EUR" in page.text
    page = alice.post(f"/my/bookings/{booking_id}/cancel", status=409)
    assert "By now this change costs 20.00 EUR" in page.text
    made = read(database, booking_id)
    assert (made.ready_on, made.status, str(made.total)) == (FRIDAY, Status.CONFIRMED, "98.00")


def test_after_the_last_day_only_the_workshop_changes_it(
    visitor: Visitor, cast: Cast, booking_id: int, database: Database
) -> None:
    set_rules(database, cast, FREE, 2)
    alice = visitor.as_(cast.alice)
    page = alice.get(f"/my/bookings/{booking_id}")
    assert "It could be changed until Sun 6 December 2026" in page.text
    assert not [link for link in page.links if link.endswith(("/move", "/cancel", "/take-out", "/split"))]
    item = read(database, booking_id).items[0]
    for act in ("cancel", f"pairs/{item.id}/take-out"):
        assert "until Sun 6 December 2026" in alice.post(f"/my/bookings/{booking_id}/{act}", status=409).text
    mia = visitor.as_(cast.mia)
    page = mia.get(f"/shop/bookings/{booking_id}/pairs/{item.id}/take-out")
    assert "enter an amount such as" in mia.send(page, listed="ill", fee="five").errors[0]
    mia.send(page, listed="ill", fee="4")
    assert str(read(database, booking_id).total) == "53.00"
    page = mia.get(f"/shop/bookings/{booking_id}/cancel")
    assert "Choose a reason" in mia.send(page).errors[0]
    page = mia.send(page, own="The roof leaks.")
    assert read(database, booking_id).status is Status.CANCELLED
    assert "The roof leaks." in page.text


def test_a_request_is_changed_freely_whatever_the_rules_say(
    visitor: Visitor, cast: Cast, order_id: int, database: Database
) -> None:
    set_rules(database, cast, FREE, 2)
    cora = visitor.as_(cast.cora)
    page = cora.get(f"/club/{cast.club_id}/orders/{order_id}/move")
    assert "This change costs nothing" in page.text
    cora.send(page, ready=MONDAY.isoformat())
    assert read(database, order_id).ready_on == MONDAY


@pytest.mark.parametrize("who", ["alice", "mia"])
def test_some_pairs_get_a_day_and_a_booking_of_their_own(
    visitor: Visitor, cast: Cast, booking_id: int, database: Database, who: str
) -> None:
    browser = visitor.as_(getattr(cast, who))
    root = f"/{'shop' if who == 'mia' else 'my'}/bookings"
    page = browser.get(f"{root}/{booking_id}")
    page = browser.get(next(link for link in page.links if link.endswith("/split")))
    first, second = (item.id for item in read(database, booking_id).items)
    assert browser.get(f"{root}/{booking_id}/split?chosen=1").errors == [
        "Choose at least one pair that gets another day"
    ]
    assert browser.get(f"{root}/{booking_id}/split?chosen=1&leaving={first}&leaving={second}").errors == [
        "Leave at least one pair in the booking"
    ]
    page = browser.get(f"{root}/{booking_id}/split?leaving={second}")
    given = {"listed": "asked"} if who == "mia" else {}
    assert browser.post(f"{root}/{booking_id}/split?leaving={second}", given).errors == ["Choose a day"]
    page = browser.send(page, f"split?leaving={second}", ready=MONDAY.isoformat(), **given)
    whole = read(database, booking_id)
    (part,) = whole.parts
    assert f"The pairs are now booking {part.reference}." in page.text
    assert [item.id for item in whole.items] == [first]
    page = browser.get(f"{root}/{part.id}")
    assert whole.reference in page.text
    assert f"{root}/{booking_id}" in page.links
    parted = read(database, part.id)
    assert (parted.status, parted.ready_on, str(parted.total)) == (Status.CONFIRMED, MONDAY, "49.00")


def test_what_cannot_be_parted_says_so(
    visitor: Visitor, cast: Cast, booking_id: int, order_id: int, database: Database
) -> None:
    with database.write.begin() as session:
        made = find_bookings.whole(session, booking_id)
        make.find_people.one(session, cast.alice.person_id)
        booking_changes.take_out(session, cast.alice, booking_id, made.items[0].id, NOW)
    assert "cannot be parted" in visitor.as_(cast.alice).get(f"/my/bookings/{booking_id}/split", 409).text
    visitor.as_(cast.carl).get(f"/my/bookings/{order_id}/split", 404)
    visitor.as_(cast.tina).get(f"/shop/bookings/{order_id}/split", 403)
    page = visitor.as_(cast.cora).get(f"/club/{cast.club_id}/orders/{order_id}/split")
    assert page.h1.startswith("Which pairs of")


def test_the_rules_are_set_on_a_page_by_the_shop_manager(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    mia = visitor.as_(cast.mia)
    page = mia.get("/shop/workshop/rules")
    given = {"hold_hours": "24", "free_days": "2", "last_days": "3", "move_fee": "7,5", "cancel_fee": "x"}
    wrong = mia.send(page, **given)
    assert wrong.errors == [
        "Enter at most 2 days: a change cannot stop being possible while it is free",
        "Fee for cancelling: enter an amount such as 49 or 49.50",
    ]
    assert wrong.form()["move_fee"] == "7,5", "nothing typed is lost"
    mia.send(page, **{**given, "last_days": "1", "cancel_fee": ""})
    with database.read() as session:
        workshop = find_workshop.the(session)
        assert (workshop.hold_hours, workshop.free_days, workshop.last_days) == (24, 2, 1)
        assert (str(workshop.move_fee), str(workshop.cancel_fee)) == ("7.50", "0.00")
        (entry,) = session.scalars(select(AuditEntry)).all()
        assert (entry.act, entry.name) == (Act.RULES_SET, "Mia")
    visitor.as_(cast.tina).get("/shop/workshop/rules", 403)
