"""Hand-in places: what they change of a booking, and who keeps them."""

from __future__ import annotations

from datetime import date, time
from decimal import Decimal
from typing import Any

import pytest
from sqlalchemy.orm import Session

from portal.db.bookings import Booking
from portal.db.places import HandInPlace
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.places import PlaceKind
from portal.domain.planning.promise import NoRoom
from portal.domain.prices import Item
from portal.mail.outbox import Letter
from portal.queries import letters as find_letters
from portal.queries import parcels as find_parcels
from portal.queries import places as find_places
from portal.services import billing, booking_changes, bookings, parcels, places, prices
from portal.services.parcels import ParcelFacts
from portal.services.places import PlaceFacts
from tests import make
from tests.cast import Cast
from tests.make import NOW, TODAY

VAN = PlaceFacts("Tarn Village hall", PlaceKind.VAN, weekdays=frozenset({1, 3}), travel_days=2)
TUESDAY, THURSDAY, FRIDAY = date(2026, 12, 8), date(2026, 12, 10), date(2026, 12, 11)


def added(session: Session, cast: Cast, facts: PlaceFacts = VAN) -> HandInPlace:
    made = places.add(session, cast.mia, facts, NOW)
    session.flush()
    return made


def booked(session: Session, cast: Cast, **given: Any) -> Booking:
    return make.booking(session, make.find_people.one(session, cast.alice.person_id), **given)


def priced(session: Session, cast: Cast, item: Item, amount: str) -> None:
    prices.set_price(session, cast.mia, item, Decimal(amount), TODAY, NOW)


def test_the_promise_counts_from_the_day_the_skis_reach_the_workshop(session: Session, cast: Cast) -> None:
    van = added(session, cast)
    made = booked(session, cast, hand_in=TUESDAY, ready=FRIDAY, place_id=van.id)
    assert (made.hand_in_on, made.arrives_on, made.place_id) == (TUESDAY, THURSDAY, van.id)
    # Here on Thursday, so they are ground on Friday and on no day before.
    assert {one.work_day.day for item in made.items for one in item.commitments} == {FRIDAY}
    with pytest.raises(NoRoom) as full:
        booked(session, cast, hand_in=TUESDAY, ready=THURSDAY, place_id=van.id)
    assert full.value.next_day == FRIDAY
    # Another ready day is found from the same arrival on.
    days = [one.day for one in booking_changes.possible_days(session, made, TODAY)]
    assert min(days) == FRIDAY


def test_skis_that_would_come_while_the_workshop_is_closed_are_there_on_the_next_open_day(
    session: Session, cast: Cast
) -> None:
    van = added(session, cast)
    # Thursday and two days are a Saturday.
    made = booked(session, cast, hand_in=THURSDAY, ready=date(2026, 12, 15), place_id=van.id)
    assert made.arrives_on == date(2026, 12, 14)
    assert {one.work_day.day for item in made.items for one in item.commitments} == {date(2026, 12, 15)}


def test_without_a_place_skis_are_handed_in_at_the_counter(session: Session, cast: Cast) -> None:
    added(session, cast)
    made = booked(session, cast)
    assert (made.place_id, made.arrives_on) == (None, made.hand_in_on)
    counter = added(session, cast, PlaceFacts("Hall B", PlaceKind.COUNTER))
    assert booked(session, cast).place_id == counter.id


def test_a_day_on_which_the_place_takes_no_skis_is_refused(session: Session, cast: Cast) -> None:
    van = added(session, cast)
    with pytest.raises(NotNow, match="takes no skis on it"):
        booked(session, cast, hand_in=date(2026, 12, 9), ready=date(2026, 12, 14), place_id=van.id)
    with pytest.raises(NotNow, match="on which the workshop is open"):
        booked(session, cast, hand_in=date(2026, 12, 12), ready=date(2026, 12, 15))


def test_after_the_cut_off_a_day_is_neither_offered_nor_taken(session: Session, cast: Cast) -> None:
    # It is ten in the morning in Oslo.
    early = added(session, cast, PlaceFacts("Hall B", PlaceKind.COUNTER, cut_off=time(9, 30)))
    assert TODAY not in places.days(session, early, NOW)
    with pytest.raises(NotNow, match="is over"):
        booked(session, cast, hand_in=TODAY)
    places.change(session, cast.mia, early.id, PlaceFacts("Hall B", PlaceKind.COUNTER, cut_off=time(10)), NOW)
    assert TODAY in places.days(session, early, NOW)


def test_the_place_of_a_club_is_offered_to_that_club_alone(session: Session, cast: Cast) -> None:
    facts = PlaceFacts("Club house", PlaceKind.CLUB, club_id=cast.club_id)
    house = added(session, cast, facts)
    assert find_places.offered(session, cast.club_id) == [None, house]
    assert find_places.offered(session, cast.other_club_id) == [None]
    assert find_places.offered(session, None) == [None]
    with pytest.raises(NotNow, match="takes no skis any more"):
        booked(session, cast, place_id=house.id)


def test_a_retired_place_stays_with_its_bookings_and_one_place_has_to_stay(
    session: Session, cast: Cast
) -> None:
    van = added(session, cast)
    made = booked(session, cast, hand_in=TUESDAY, ready=FRIDAY, place_id=van.id)
    places.retire(session, cast.mia, van.id, NOW)
    assert made.place is van
    assert find_places.offered(session, None) == [None]
    counter = added(session, cast, PlaceFacts("Hall B", PlaceKind.COUNTER))
    with pytest.raises(NotNow, match="only place"):
        places.retire(session, cast.mia, counter.id, NOW)
    places.reopen(session, cast.mia, van.id, NOW)
    places.retire(session, cast.mia, counter.id, NOW)
    assert find_places.offered(session, None) == [van]
    with pytest.raises(NotFound):
        places.retire(session, cast.mia, 999, NOW)


def test_only_the_manager_keeps_places(session: Session, cast: Cast) -> None:
    van = added(session, cast)
    for refused in (
        lambda: places.add(session, cast.tina, VAN, NOW),
        lambda: places.change(session, cast.tina, van.id, VAN, NOW),
        lambda: places.retire(session, cast.tina, van.id, NOW),
        lambda: places.reopen(session, cast.tina, van.id, NOW),
    ):
        with pytest.raises(NotAllowed):
            refused()


def test_a_near_ready_day_is_express_from_the_arrival_on(session: Session, cast: Cast) -> None:
    prices.set_terms(session, cast.mia, express_days=1, deposit_percent=0, now=NOW)
    assert not booked(session, cast, hand_in=THURSDAY, ready=FRIDAY).is_express, "express has no price yet"
    priced(session, cast, Item.EXPRESS, "20.00")
    van = added(session, cast)
    near = booked(session, cast, hand_in=TUESDAY, ready=FRIDAY, place_id=van.id)
    assert (near.is_express, near.total) == (True, Decimal("69.00"))
    later = booked(session, cast, hand_in=TUESDAY, ready=FRIDAY)
    assert (later.is_express, later.total) == (False, Decimal("49.00"))
    with_two = booked(
        session,
        cast,
        hand_in=THURSDAY,
        ready=FRIDAY,
        wanted=[make.wanted(session, make.pair(session, near.person)) for _ in range(2)],
    )
    assert with_two.total == Decimal("138.00"), "for each pair"


def test_express_goes_with_the_day_that_whoever_ordered_chooses_and_only_goes_with_the_workshops(
    session: Session, cast: Cast
) -> None:
    prices.set_terms(session, cast.mia, express_days=1, deposit_percent=0, now=NOW)
    priced(session, cast, Item.EXPRESS, "20.00")
    made = booked(session, cast, hand_in=TUESDAY, ready=FRIDAY)
    near = date(2026, 12, 9)
    booking_changes.move_to(session, cast.alice, made.id, near, today=TODAY, now=NOW)
    assert (made.is_express, made.total) == (True, Decimal("69.00"))
    booking_changes.move_to(session, cast.alice, made.id, FRIDAY, today=TODAY, now=NOW)
    assert (made.is_express, made.total) == (False, Decimal("49.00"))
    booking_changes.move_to(session, cast.mia, made.id, near, today=TODAY, now=NOW)
    assert (made.is_express, made.total) == (False, Decimal("49.00")), "the workshop's day costs nothing"
    quick = booked(session, cast, hand_in=TUESDAY, ready=near)
    bookings.counter(
        session, cast.mia, quick.id, ready=FRIDAY, structures={}, reason="Full.", today=TODAY, now=NOW
    )
    offer = quick.open_offer
    assert offer is not None
    bookings.accept(session, cast.alice, quick.id, offer.id, NOW)
    assert (quick.is_express, quick.total) == (False, Decimal("49.00"))


def test_a_bill_that_is_made_anew_keeps_the_prices_and_rates_it_was_made_with(
    session: Session, cast: Cast
) -> None:
    prices.set_rate(session, cast.mia, Item.GRIND, Decimal(24), TODAY, NOW)
    alice = make.find_people.one(session, cast.alice.person_id)
    made = booked(session, cast, wanted=[make.wanted(session, make.pair(session, alice)) for _ in range(2)])
    priced(session, cast, Item.GRIND, "60.00")
    prices.set_rate(session, cast.mia, Item.GRIND, Decimal(25), TODAY, NOW)
    booking_changes.take_out(session, cast.alice, made.id, made.items[0].id, NOW)
    (line,) = billing.bill_of(made).lines
    assert (line.count, line.each, line.rate) == (1, Decimal("49.00"), Decimal(24))


def letters(session: Session) -> list[Letter]:
    session.flush()
    return list(find_letters.newest(session, 50))  # type: ignore[arg-type]


def test_skis_by_post_are_charged_the_way_back_and_whoever_ordered_is_told_of_the_parcel(
    session: Session, cast: Cast
) -> None:
    priced(session, cast, Item.RETURN_POST, "18.90")
    post = added(session, cast, PlaceFacts("By parcel", PlaceKind.POST, travel_days=3))
    made = booked(session, cast, hand_in=TUESDAY, ready=date(2026, 12, 15), place_id=post.id)
    assert (made.returns_by_post, made.total) == (True, Decimal("67.90"))
    facts = ParcelFacts("Fell Carriers", "FC 42", TUESDAY)
    with pytest.raises(NotNow, match="until the workshop has confirmed"):
        parcels.announce(session, cast.alice, made.id, facts, NOW)
    bookings.confirm(session, cast.mia, made.id, NOW)
    parcels.announce(session, cast.alice, made.id, facts, NOW)
    with pytest.raises(NotFound):
        parcels.announce(session, cast.carl, made.id, facts, NOW)
    with pytest.raises(NotAllowed):
        parcels.send_back(session, cast.alice, made.id, facts, NOW)
    before = len(letters(session))
    parcels.send_back(session, cast.tina, made.id, ParcelFacts("Fell Carriers", "FC 77", FRIDAY), NOW)
    written = letters(session)
    assert len(written) == before + 1
    assert "Fell Carriers FC 77" in written[0].body
    assert "On their way" not in written[0].body
    assert [one.number for one in find_parcels.of_booking(session, made.id)] == ["FC 42", "FC 77"]


def test_a_booking_that_is_handed_in_by_hand_has_no_parcels(session: Session, cast: Cast) -> None:
    made = booked(session, cast)
    with pytest.raises(NotNow, match="does not go by post"):
        parcels.send_back(session, cast.tina, made.id, ParcelFacts("", "", TODAY), NOW)
