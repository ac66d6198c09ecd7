"""A pair more, another pair in the place of one, or other work: who may, what the ledger and the bill say, and who is told."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.bookings import Booking
from portal.db.catalogue import Structure
from portal.db.days import WorkDay
from portal.db.outbox import OutboxLetter
from portal.db.pairs import Pair
from portal.db.workshop import Price
from portal.domain.answers import Discipline
from portal.domain.bookings import Event, Status
from portal.domain.change_rules import ChangeRules
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.planning.promise import NoRoom
from portal.domain.prices import Item
from portal.queries import bookings as find_bookings
from portal.queries import days as find_days
from portal.services import booking_changes, booking_pairs, bookings, change_terms, grinds
from tests import make
from tests.cast import Cast
from tests.make import NOW, TODAY

FRIDAY = date(2026, 12, 11)


def of_alice(session: Session, cast: Cast, pairs: int = 2) -> Booking:
    alice = make.find_people.one(session, cast.alice.person_id)
    wanted = [make.wanted(session, make.pair(session, alice)) for _ in range(pairs)]
    return make.booking(session, alice, wanted=wanted)


def of_club(session: Session, cast: Cast, pairs: int = 4) -> Booking:
    cora = make.find_people.one(session, cast.cora.person_id)
    wanted = [make.wanted(session, make.pair(session, club_id=cast.club_id)) for _ in range(pairs)]
    return make.booking(session, cora, wanted=wanted, club_id=cast.club_id)


def pair_of(session: Session, cast: Cast, who: str = "alice", **given: object) -> bookings.Wanted:
    """One more pair of Alice's or of Cora's club, with what is asked for it."""
    owner = make.find_people.one(session, cast.alice.person_id) if who == "alice" else None
    club = {} if owner else {"club_id": cast.club_id}
    return make.wanted(session, make.pair(session, owner, **club, **given))


def held(session: Session) -> int:
    assert not find_days.drift(session)
    assert not find_days.oversold(session)
    return sum(session.scalars(select(WorkDay.minutes_committed)))


def letters(session: Session, recipient: str) -> list[OutboxLetter]:
    rows = select(OutboxLetter).where(OutboxLetter.recipient == recipient).order_by(OutboxLetter.id)
    return list(session.scalars(rows))


def read(session: Session, booking: Booking) -> Booking:
    session.flush()
    session.expire_all()
    return find_bookings.whole(session, booking.id)


def test_a_pair_is_added_to_an_agreed_booking_and_is_ready_with_the_others(
    session: Session, cast: Cast
) -> None:
    made = of_alice(session, cast)
    bookings.confirm(session, cast.mia, made.id, NOW)
    before, more = held(session), pair_of(session, cast)
    booking_pairs.add_pair(session, cast.alice, made.id, more, today=TODAY, now=NOW)
    found = read(session, made)
    added = found.items[-1]
    assert (found.status, found.ready_on, len(found.items)) == (Status.CONFIRMED, FRIDAY, 3)
    assert found.total == Decimal("147.00"), "3 x 49"
    assert held(session) == before + added.minutes
    assert added.ground_on is not None
    assert added.ground_on <= FRIDAY
    assert (found.events[-1].event, found.events[-1].item_id) == (Event.ADDED, added.id)
    assert found.events[-1].bill_before is not None
    letter = letters(session, cast.alice.email)[-1]
    assert letter.subject == f"One pair more in {found.reference}"
    calendar = (letter.calendar or b"").replace(b"\r\n ", b"")
    assert b"SEQUENCE:2" in calendar
    assert b"Pairs: 3." in calendar
    assert letters(session, cast.mia.email)[-1].subject == f"One pair more: {found.reference}, Alice"


def test_the_prices_of_its_day_and_the_tier_of_all_pairs_count(session: Session, cast: Cast) -> None:
    made = of_club(session, cast)
    assert made.total == Decimal("196.00"), "4 x 49"
    session.add(Price(item=Item.GRIND, amount=Decimal("60.00"), valid_from=TODAY))
    session.flush()
    more = pair_of(session, cast, "cora")
    asked = booking_pairs.bill_with(session, made, more)
    booking_pairs.add_pair(session, cast.cora, made.id, more, today=TODAY, now=NOW, agreed=asked.total)
    assert read(session, made).total == asked.total == Decimal("232.75"), "5 x 49 less 5 %"
    item = read(session, made).items[-1]
    booking_changes.take_out(session, cast.cora, made.id, item.id, NOW)
    assert read(session, made).total == Decimal("196.00"), "adding and taking out leaves nothing behind"


def test_what_was_agreed_stays_in_proportion_when_a_pair_is_added(session: Session, cast: Cast) -> None:
    made = of_alice(session, cast)
    bookings.counter(
        session,
        cast.mia,
        made.id,
        ready=FRIDAY,
        structures={},
        reason="",
        price=Decimal("90.00"),
        price_reason="A round sum",
        today=TODAY,
        now=NOW,
    )
    offer = read(session, made).open_offer
    assert offer is not None
    bookings.accept(session, cast.alice, made.id, offer.id, NOW)
    booking_pairs.add_pair(session, cast.alice, made.id, pair_of(session, cast), today=TODAY, now=NOW)
    assert read(session, made).total == Decimal("135.00"), "three times 45"


def test_dearer_than_what_was_seen_is_refused(session: Session, cast: Cast) -> None:
    made, more = of_alice(session, cast), pair_of(session, cast)
    with pytest.raises(NotNow, match="By now"), session.begin_nested():
        booking_pairs.add_pair(
            session, cast.alice, made.id, more, today=TODAY, now=NOW, agreed=Decimal("146.99")
        )
    assert len(read(session, made).items) == 2


def test_a_full_stone_refuses_the_pair_and_names_the_first_day(session: Session, cast: Cast) -> None:
    made, more = of_alice(session, cast), pair_of(session, cast)
    make.fill_days(session, find_days.between(session, TODAY, FRIDAY))
    before = held(session)
    with pytest.raises(NoRoom) as full, session.begin_nested():
        booking_pairs.add_pair(session, cast.alice, made.id, more, today=TODAY, now=NOW)
    assert full.value.next_day == FRIDAY + timedelta(days=3)
    assert booking_pairs.first_day(session, read(session, made), more, TODAY) == full.value.next_day
    assert held(session) == before


def test_where_nothing_is_held_any_more_nothing_is_held_for_the_pair(session: Session, cast: Cast) -> None:
    made = of_alice(session, cast)
    assert bookings.lapse(session, NOW + timedelta(days=30))
    booking_pairs.add_pair(session, cast.alice, made.id, pair_of(session, cast), today=TODAY, now=NOW)
    assert held(session) == 0
    bookings.confirm(session, cast.mia, made.id, NOW)
    assert held(session) == sum(item.minutes for item in read(session, made).items)


def test_whoever_works_here_adds_a_pair_that_came_along(session: Session, cast: Cast) -> None:
    made = of_club(session, cast, 2)
    bookings.confirm(session, cast.mia, made.id, NOW)
    grinds.check_in(session, cast.tina, read(session, made).items[0].id, NOW)
    more = pair_of(session, cast, "cora")
    with pytest.raises(NotNow, match="cannot be changed any more"):
        booking_pairs.add_pair(session, cast.cora, made.id, more, today=TODAY, now=NOW)
    booking_pairs.add_pair(session, cast.tina, made.id, more, today=TODAY, now=NOW)
    assert len(read(session, made).items) == 3
    assert "came with your skis" in letters(session, cast.cora.email)[-1].body
    of_alice_ = pair_of(session, cast)
    with pytest.raises(NotFound):
        booking_pairs.add_pair(session, cast.tina, made.id, of_alice_, today=TODAY, now=NOW)
    hers = of_alice(session, cast)
    booking_pairs.add_pair(session, cast.tina, hers.id, of_alice_, today=TODAY, now=NOW)
    assert len(read(session, hers).items) == 3


def test_who_may_not_add_and_what_cannot_be_added(session: Session, cast: Cast) -> None:
    made, more = of_alice(session, cast), pair_of(session, cast)
    for stranger in (cast.carl, cast.dora):
        with pytest.raises(NotFound):
            booking_pairs.add_pair(session, stranger, made.id, more, today=TODAY, now=NOW)
    of_the_club = pair_of(session, cast, "cora")
    with pytest.raises(NotFound):
        booking_pairs.add_pair(session, cast.alice, made.id, of_the_club, today=TODAY, now=NOW)
    twice = booking_pairs.wanted_of(made.items[0])
    with pytest.raises(NotNow, match="in another open booking"):
        booking_pairs.add_pair(session, cast.alice, made.id, twice, today=TODAY, now=NOW)
    wrong = pair_of(session, cast, discipline=Discipline.CLASSIC)
    row = session.get_one(Structure, wrong.structure_id)
    row.stated = {**row.stated, "disciplines": ["skate"]}
    session.flush()
    with pytest.raises(NotNow, match="is not ground on a pair for"):
        booking_pairs.add_pair(session, cast.alice, made.id, wrong, today=TODAY, now=NOW)
    bookings.cancel(session, cast.alice, made.id, NOW)
    with pytest.raises(NotNow, match="cannot be changed any more"):
        booking_pairs.add_pair(session, cast.alice, made.id, more, today=TODAY, now=NOW)


def test_after_the_last_day_for_changes_only_the_workshop_adds(session: Session, cast: Cast) -> None:
    made = of_alice(session, cast)
    bookings.confirm(session, cast.mia, made.id, NOW)
    change_terms.keep_rules(session, cast.mia, ChangeRules(3, 2, Decimal(10), Decimal(5)), 72, NOW)
    with pytest.raises(NotNow, match="could be changed until"):
        booking_pairs.add_pair(session, cast.alice, made.id, pair_of(session, cast), today=TODAY, now=NOW)
    booking_pairs.add_pair(session, cast.tina, made.id, pair_of(session, cast), today=TODAY, now=NOW)
    change_terms.keep_rules(session, cast.mia, ChangeRules(3, 0, Decimal(10), Decimal(5)), 72, NOW)
    booking_pairs.add_pair(session, cast.alice, made.id, pair_of(session, cast), today=TODAY, now=NOW)
    assert read(session, made).total == Decimal("196.00"), "4 x 49: a pair more costs no fee of its own"


def places(session: Session, booking: Booking, number: int) -> list[tuple[str, date, int]]:
    return [
        (one.layer, one.work_day.day, one.grinder) for one in read(session, booking).items[number].commitments
    ]


def test_a_pair_that_takes_the_place_of_another_keeps_its_place_on_the_ledger(
    session: Session, cast: Cast
) -> None:
    made = of_club(session, cast, 2)
    bookings.confirm(session, cast.mia, made.id, NOW)
    first = made.items[0]
    old, other = first.pair, pair_of(session, cast, "cora")
    # Where it stands no other would be put today: everything else is full.
    before, minutes = places(session, made, 0), held(session)
    make.fill_days(session, find_days.between(session, TODAY, FRIDAY + timedelta(days=40)))
    booking_pairs.change_pair(session, cast.cora, made.id, first.id, other, today=TODAY, now=NOW)
    found = read(session, made)
    assert [item.pair_id for item in found.items] == [other.pair_id, made.items[1].pair_id]
    assert places(session, made, 0) == before
    assert (found.status, found.total) == (Status.CONFIRMED, Decimal("98.00"))
    assert found.events[-1].event is Event.SWAPPED
    assert found.events[-1].words.startswith(f"{old.title} → {session.get_one(Pair, other.pair_id).title}")
    assert letters(session, cast.cora.email)[-1].subject == f"A pair is changed in {found.reference}"
    assert held(session) > minutes
    assert find_bookings.open_with_pair(session, [old.id]) == [], "the pair that left can be ordered again"


def test_other_work_is_found_its_place_and_its_price(session: Session, cast: Cast) -> None:
    made = of_alice(session, cast)
    item = made.items[0]
    before = held(session)
    more = bookings.Wanted(item.pair_id, item.structure_id, flattening=True)
    booking_pairs.change_pair(session, cast.alice, made.id, item.id, more, today=TODAY, now=NOW)
    found = read(session, made)
    assert found.total == Decimal("116.00"), "2 x 49 and 18 for the flattening"
    assert (
        len(found.items[0].commitments) == len(find_bookings.whole(session, made.id).items[1].commitments) + 1
    )
    assert held(session) > before
    assert found.events[-1].event is Event.OTHER_WORK
    less = bookings.Wanted(item.pair_id, item.structure_id)
    booking_pairs.change_pair(session, cast.alice, made.id, item.id, less, today=TODAY, now=NOW)
    assert (held(session), read(session, made).total) == (before, Decimal("98.00"))
    with pytest.raises(NotNow, match="This is what was ordered"):
        booking_pairs.change_pair(session, cast.alice, made.id, item.id, less, today=TODAY, now=NOW)


def test_more_work_that_has_no_room_changes_nothing(session: Session, cast: Cast) -> None:
    made = of_alice(session, cast)
    item = made.items[0]
    make.fill_days(session, find_days.between(session, TODAY, FRIDAY))
    before = places(session, made, 0)
    more = bookings.Wanted(item.pair_id, item.structure_id, flattening=True)
    with pytest.raises(NoRoom), session.begin_nested():
        booking_pairs.change_pair(session, cast.alice, made.id, item.id, more, today=TODAY, now=NOW)
    assert places(session, made, 0) == before
    assert not read(session, made).items[0].flattening


def test_a_pair_is_changed_only_by_whoever_ordered_and_while_it_is_awaited(
    session: Session, cast: Cast
) -> None:
    made = of_club(session, cast, 2)
    bookings.confirm(session, cast.mia, made.id, NOW)
    here, awaited = read(session, made).items
    other = pair_of(session, cast, "cora")
    for who, refusal in ((cast.dora, NotFound), (cast.alice, NotFound), (cast.mia, NotAllowed)):
        with pytest.raises(refusal):
            booking_pairs.change_pair(session, who, made.id, here.id, other, today=TODAY, now=NOW)
    with pytest.raises(NotFound):
        booking_pairs.change_pair(session, cast.cora, made.id, 10**6, other, today=TODAY, now=NOW)
    grinds.check_in(session, cast.tina, here.id, NOW)
    with pytest.raises(NotNow, match="cannot be changed any more"):
        booking_pairs.change_pair(session, cast.cora, made.id, here.id, other, today=TODAY, now=NOW)
    booking_pairs.change_pair(session, cast.cora, made.id, awaited.id, other, today=TODAY, now=NOW)
    assert read(session, made).items[1].pair_id == other.pair_id
