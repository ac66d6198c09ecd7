"""The way to a booking: one question a page, nothing lost, and no day that cannot be kept."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

import time_machine

from portal.db.bookings import Booking, BookingItem
from portal.db.days import WorkDay
from portal.db.engine import Database
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.db.workshop import Price
from portal.domain.answers import Discipline
from portal.services import grinds
from tests import make
from tests.cast import Cast
from tests.page import Page, Visitor

TUESDAY, FRIDAY = "2026-12-08", "2026-12-11"
STEPS: dict[str, dict[str, Any]] = {
    "/my/book": {},
    "/hand-in": {"day": TUESDAY},
    "/ready": {"day": FRIDAY},
    "/note": {"note": "a race on Saturday"},
}


def answer(person: Visitor, page: Page, **given: Any) -> Page:
    """Answer the question of a page: what is given, else the first choice there is."""
    path = page.response.request.path
    if "/pairs/" in path and "structure" not in given:
        given["structure"] = page.form().get("structure") or first(page, "structure")
    return person.send(page, **given)


def first(page: Page, name: str) -> str:
    return next(field.get("value") or "" for field in page.all("input") if field.get("name") == name)


def to_check(person: Visitor, pair_ids: list[int], **given: Any) -> Page:
    """Walk from the start to the check page."""
    page = person.send(person.get("/my/book"), pairs=[str(pair_id) for pair_id in pair_ids])
    for _ in range(10):
        path = page.response.request.path
        if path.endswith("/check"):
            return page
        step = next((values for end, values in STEPS.items() if path.endswith(end)), {})
        page = answer(person, page, **{**step, **given.get(path.rsplit("/", 1)[-1].replace("-", "_"), {})})
    raise AssertionError(f"no end at {page.h1}")


def bookings(database: Database) -> list[Booking]:
    with database.read() as session:
        made = session.query(Booking).filter(Booking.reference.not_like("filled-%"))
        return list(made.order_by(Booking.id))


def fill(database: Database, first_day: date, last_day: date) -> None:
    """Give away all the time on the stone on these days."""
    with database.write.begin() as session:
        make.fill_days(
            session, session.query(WorkDay).filter(WorkDay.day >= first_day, WorkDay.day <= last_day)
        )


def test_a_booking_is_made_question_by_question_and_sent_once(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    page = to_check(alice, [cast.pair_id])
    assert "Tue 8 December 2026" in page.text
    assert "Fri 11 December 2026" in page.text
    assert "a race on Saturday" in page.text
    assert "€49.00" in page.text
    assert "never measured here" in page.text
    assert not bookings(database)
    page = alice.send(page, "/send")
    made = bookings(database)
    assert len(made) == 1
    assert page.h1 == "Your request is sent"
    assert made[0].reference in page.text
    assert "alice@example.test" in page.text
    # The same page sent again, by the Back button, finds no draft any more.
    alice.post("/my/book/send")
    assert len(bookings(database)) == 1


def test_several_pairs_are_asked_for_one_after_another(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    with database.write.begin() as session:
        owner = make.find_people.one(session, cast.alice.person_id)
        other = make.pair(session, owner, discipline=Discipline.CLASSIC).id
    alice = visitor.as_(cast.alice)
    page = alice.send(alice.get("/my/book"), pairs=[str(cast.pair_id), str(other)])
    assert "Pair 1 of 2" in page.text
    page = answer(alice, page, extras=["flattening", "saturation"])
    assert "Pair 2 of 2" in page.text
    check = to_check(alice, [cast.pair_id, other])
    assert "€98.00" in check.text
    assert "€131.00" in check.text


def test_each_page_says_what_is_missing(visitor: Visitor, cast: Cast) -> None:
    alice = visitor.as_(cast.alice)
    assert alice.send(alice.get("/my/book"), pairs=[]).errors == ["Choose at least one pair"]
    assert alice.send(alice.get("/my/book"), pairs=["999"]).errors == ["Choose from the pairs in the list"]
    page = alice.send(alice.get("/my/book"), pairs=[str(cast.pair_id)])
    assert alice.send(page, structure=None).errors == ["Choose a structure"]
    assert alice.send(page, structure="no-such-thing").errors == ["Choose a structure"]
    page = answer(alice, page)
    assert alice.send(page, day=None).errors == ["Choose a day"]
    assert alice.send(page, day="2026-12-12").errors == ["Choose a day"]
    page = alice.send(page, day=TUESDAY)
    assert alice.send(page, day=TUESDAY).errors == ["Choose a day"]


def test_a_step_ahead_of_the_others_leads_back_to_the_first_open_one(visitor: Visitor, cast: Cast) -> None:
    alice = visitor.as_(cast.alice)
    for step in ("hand-in", "ready", "check"):
        assert alice.get(f"/my/book/{step}").response.request.path == "/my/book"
    alice.get(f"/my/book/pairs/{cast.pair_id}", 404)


def test_what_was_chosen_is_kept_and_can_be_changed_from_the_check_page(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    page = to_check(alice, [cast.pair_id])
    for change in [link for link in page.links if "/my/book/" in link and not link.endswith("/note")]:
        opened = alice.get(change)
        assert alice.send(opened).response.request.path == "/my/book/check", change
    later = visitor.as_(cast.alice)
    assert "have not sent it" in later.get("/my/bookings").text
    assert later.get("/my/book/note").form()["note"] == "a race on Saturday"
    page = later.send(later.get("/my/book/ready"), day="2026-12-14")
    assert "Mon 14 December 2026" in page.text


def test_a_draft_can_be_forgotten(visitor: Visitor, cast: Cast) -> None:
    alice = visitor.as_(cast.alice)
    to_check(alice, [cast.pair_id])
    page = alice.send(alice.get("/my/bookings"), "/forget")
    assert "forgotten" in page.text
    assert alice.get("/my/book/check").response.request.path == "/my/book"


def test_a_day_without_room_stays_in_the_list_with_its_reason(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    fill(database, date(2026, 12, 9), date(2026, 12, 10))
    alice = visitor.as_(cast.alice)
    page = answer(alice, alice.send(alice.get("/my/book"), pairs=[str(cast.pair_id)]))
    page = alice.send(page, day=TUESDAY)
    assert "Wed 9 December 2026 The stone is full on this day" in page.text
    assert first(page, "day") == FRIDAY


def test_a_full_day_is_offered_when_an_earlier_one_has_room_and_says_how_full_both_are(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    fill(database, date(2026, 12, 10), date(2026, 12, 10))
    alice = visitor.as_(cast.alice)
    page = answer(alice, alice.send(alice.get("/my/book"), pairs=[str(cast.pair_id)]))
    page = alice.send(page, day=TUESDAY)
    assert (
        "Wed 9 December 2026 0 % full Thu 10 December 2026 50 % full Fri 11 December 2026 33 % full"
        in page.text
    )


def test_a_day_that_fills_up_meanwhile_leads_to_the_next_one_with_one_button(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    checked = to_check(alice, [cast.pair_id])
    fill(database, date(2026, 12, 9), date(2026, 12, 11))
    page = alice.send(checked, "/send", status=409)
    assert page.h1 == "That day has filled up"
    assert not bookings(database)
    page = alice.send(page, "/ready")
    assert page.h1 == "Check what you ask for"
    assert "Mon 14 December 2026" in page.text
    assert "a race on Saturday" in page.text
    alice.send(page, "/send")
    assert bookings(database)[0].ready_on == date(2026, 12, 14)


def test_when_everything_fills_up_meanwhile_the_page_says_whom_to_ask(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    checked = to_check(alice, [cast.pair_id])
    fill(database, date(2026, 12, 7), date(2027, 12, 31))
    page = alice.send(checked, "/send", status=409)
    assert page.h1 == "The workshop is fully booked"
    assert "tel:+005550100" in page.links


def test_a_full_horizon_is_told_before_a_day_is_asked_for(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    fill(database, date(2026, 12, 9), date(2027, 12, 31))
    alice = visitor.as_(cast.alice)
    page = answer(alice, alice.send(alice.get("/my/book"), pairs=[str(cast.pair_id)]))
    page = alice.send(page, day=TUESDAY, status=409)
    assert page.h1 == "The workshop is fully booked"
    assert "mailto:desk@hollowmere.test" in page.links


def test_a_workshop_without_opening_days_says_so(visitor: Visitor, cast: Cast, database: Database) -> None:
    with database.write.begin() as session:
        session.query(WorkDay).delete()
    alice = visitor.as_(cast.alice)
    page = alice.send(alice.get("/my/book"), pairs=[str(cast.pair_id)])
    page = alice.send(page, structure=first(page, "structure"), status=409)
    assert page.h1 == "The workshop is fully booked"


def test_a_draft_whose_day_has_passed_is_explained(
    visitor: Visitor, cast: Cast, clock: time_machine.Traveller
) -> None:
    alice = visitor.as_(cast.alice)
    to_check(alice, [cast.pair_id])
    clock.shift(7 * 86400)
    page = alice.get("/my/book/check")
    assert page.response.request.path == "/my/book/hand-in"
    assert "has passed or is closed now" in page.text


def test_a_draft_whose_pair_is_archived_or_booked_is_explained(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    with database.write.begin() as session:
        owner = make.find_people.one(session, cast.alice.person_id)
        other = make.pair(session, owner, maker="Varjag", model="Tundra").id
    alice = visitor.as_(cast.alice)
    to_check(alice, [cast.pair_id, other])
    with database.write.begin() as session:
        session.get_one(Pair, cast.pair_id).archived_at = make.NOW
    assert "is archived now" in alice.get("/my/book").text
    with database.write.begin() as session:
        owner = make.find_people.one(session, cast.alice.person_id)
        make.booking(session, owner, pair=session.get_one(Pair, other))
    page = alice.get("/my/book")
    assert page.h1 == "No pair can be booked"
    assert "is in another open booking now" in page.text
    alice.post("/my/book/send")
    assert len(bookings(database)) == 1


def test_a_draft_whose_structure_changed_is_explained(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    to_check(alice, [cast.pair_id])
    with database.write.begin() as session:
        make.structure(session).current = False
    page = alice.get("/my/book/check")
    assert "has changed the structure you chose" in page.text


def test_a_pair_that_became_a_classic_pair_has_its_structure_chosen_again(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    with database.write.begin() as session:
        row = make.structure(session)
        row.stated = {**row.stated, "disciplines": ["skate"]}
        only_skate = row.key
    alice = visitor.as_(cast.alice)
    to_check(alice, [cast.pair_id], **{str(cast.pair_id): {"structure": only_skate}})
    with database.write.begin() as session:
        session.get_one(Pair, cast.pair_id).discipline = Discipline.CLASSIC
    assert "is for Classic now" in alice.get("/my/book/check").text


def test_a_base_that_is_too_thin_is_told_where_the_structure_is_chosen(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    measured(database, cast.pair_id, 590)
    alice = visitor.as_(cast.alice)
    page = alice.send(alice.get("/my/book"), pairs=[str(cast.pair_id)])
    assert "last measured at 0.59 mm" in page.text
    page = alice.send(page, structure=first(page, "structure"), extras=["flattening"])
    assert page.errors == [
        "The base is too thin for this structure with flattening. Leave the flattening out, or choose another"
    ]
    assert page.form()["extras"] == ["flattening"]
    assert alice.send(page, extras=[]).h1 == "Which day do you hand them in?"


def test_a_base_with_nothing_left_is_not_booked_but_talked_about(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    measured(database, cast.pair_id, 500)
    alice = visitor.as_(cast.alice)
    page = alice.send(alice.get("/my/book"), pairs=[str(cast.pair_id)])
    assert "without passing the workshop's minimum" in page.text
    assert not page.all("form")


def test_a_grind_to_think_twice_about_is_said_on_every_step_and_can_still_be_sent(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    measured(database, cast.pair_id, 516)
    with database.write.begin() as session:
        make.answers(
            session, session.get_one(Person, cast.alice.person_id), session.get_one(Pair, cast.pair_id)
        )
        chosen = make.structure(session).key
    alice = visitor.as_(cast.alice)
    page = alice.get("/my/book")
    assert "Skate. One grind is left (0 to " in page.text
    page = alice.send(page, pairs=[str(cast.pair_id)])
    assert re.search(r"A grind with [^:]+: (Think twice|Not possible)\.", page.text)
    page = to_check(alice, [cast.pair_id], **{str(cast.pair_id): {"structure": chosen}})
    assert "Think twice." in page.text
    assert "One grind is left" in page.text
    assert "What you chose suits as many of its days as what is on the base" in page.text
    alice.send(page, "/send")
    assert len(bookings(database)) == 1


def measured(database: Database, pair_id: int, um: int) -> None:
    with database.write.begin() as session:
        facts = grinds.GrindFacts(
            make.structure(session).id, date(2026, 11, 2), "Tina", after_um=(um, um, um)
        )
        grinds.add(session, pair_id, facts, make.NOW)


def test_what_is_sent_is_what_was_checked(visitor: Visitor, cast: Cast, database: Database) -> None:
    alice = visitor.as_(cast.alice)
    checked = to_check(alice, [cast.pair_id])
    elsewhere = alice.get("/my/book/note")
    alice.send(elsewhere, note="no race after all")
    page = alice.send(checked, "/send")
    assert "Something has changed since you checked it" in page.text
    assert "no race after all" in page.text
    assert not bookings(database)
    alice.send(page, "/send")
    assert len(bookings(database)) == 1


def test_the_nearest_days_are_shown_first_and_the_others_on_demand(visitor: Visitor, cast: Cast) -> None:
    alice = visitor.as_(cast.alice)
    page = answer(alice, alice.send(alice.get("/my/book"), pairs=[str(cast.pair_id)]))
    days = [field for field in page.all("input") if field.get("name") == "day"]
    assert len(days) == 15
    page = alice.get(next(link for link in page.links if "all=1" in link))
    later = [field.get("value") for field in page.all("input") if field.get("name") == "day"]
    assert len(later) > 15
    assert alice.send(page, day=later[-2]).h1 == "Which day do you need them ready?"
    assert alice.get("/my/book/hand-in").form()["day"] == later[-2]


def test_a_structure_in_mind_is_preselected(visitor: Visitor, cast: Cast, database: Database) -> None:
    with database.read() as session:
        wish = make.structure(session, number=1).key
    alice = visitor.as_(cast.alice)
    page = alice.send(alice.get(f"/my/book?structure={wish}"), pairs=[str(cast.pair_id)])
    assert page.form()["structure"] == wish


def test_a_pair_named_in_the_address_is_ticked_when_it_is_theirs(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    with database.write.begin() as session:
        owner = make.find_people.one(session, cast.alice.person_id)
        other = make.pair(session, owner).id
    alice = visitor.as_(cast.alice)
    assert alice.get(f"/my/book?pair={other}").form()["pairs"] == [str(other)]
    assert "pairs" not in alice.get(f"/my/book?pair={cast.club_pair_id}").form()


def test_somebody_without_pairs_is_led_to_register_one(visitor: Visitor, cast: Cast) -> None:
    page = visitor.as_(cast.carl).get("/my/book")
    assert page.h1 == "No pair can be booked"
    assert "/my/pairs/new" in page.links


def test_a_pair_of_somebody_else_cannot_be_put_into_a_draft(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    with database.write.begin() as session:
        make.pair(session, make.find_people.one(session, cast.carl.person_id))
    carl = visitor.as_(cast.carl)
    page = carl.send(carl.get("/my/book"), pairs=[str(cast.pair_id)])
    assert page.errors == ["Choose from the pairs in the list"]


def test_without_a_price_the_booking_waits_and_says_whom_to_ask(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    with database.write.begin() as session:
        session.query(Price).delete()
    alice = visitor.as_(cast.alice)
    page = answer(alice, alice.send(alice.get("/my/book"), pairs=[str(cast.pair_id)]))
    page = alice.send(page, day=TUESDAY, status=409)
    assert "no price" in page.text


def test_minutes_are_held_from_the_moment_of_sending(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    alice.send(to_check(alice, [cast.pair_id]), "/send")
    with database.read() as session:
        held = sum(row.minutes_committed for row in session.query(WorkDay))
        assert held == session.query(BookingItem).one().minutes
