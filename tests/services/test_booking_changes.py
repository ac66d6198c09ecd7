"""Another ready day, or one pair fewer: who may, what the ledger and the bill say afterwards, and who is told."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.days import WorkDay
from portal.db.outbox import OutboxLetter
from portal.domain.access import Actor
from portal.domain.bookings import Event, Status
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.planning.promise import NoRoom
from portal.queries import bookings as find_bookings
from portal.queries import clubs as find_clubs
from portal.queries import days as find_days
from portal.services import booking_changes, booking_splits, bookings, grinds
from tests import make
from tests.cast import Cast
from tests.make import NOW, TODAY

FRIDAY, MONDAY = date(2026, 12, 11), date(2026, 12, 14)


def of_alice(session: Session, cast: Cast, pairs: int = 1) -> int:
    alice = make.find_people.one(session, cast.alice.person_id)
    wanted = [
        make.wanted(session, make.pair(session, alice), flattening=number == 0) for number in range(pairs)
    ]
    return make.booking(session, alice, wanted=wanted).id


def move(session: Session, actor: Actor, booking_id: int, day: date = MONDAY, reason: str = "") -> None:
    booking_changes.move_to(session, actor, booking_id, day, today=TODAY, now=NOW, reason=reason)


def held(session: Session) -> int:
    assert not find_days.drift(session)
    return sum(session.scalars(select(WorkDay.minutes_committed)))


def letters(session: Session, recipient: str) -> list[OutboxLetter]:
    rows = select(OutboxLetter).where(OutboxLetter.recipient == recipient).order_by(OutboxLetter.id)
    return list(session.scalars(rows))


def test_whoever_ordered_moves_an_agreed_booking_and_it_stays_agreed(session: Session, cast: Cast) -> None:
    booking_id = of_alice(session, cast)
    bookings.confirm(session, cast.mia, booking_id, NOW)
    before = held(session)
    move(session, cast.alice, booking_id)
    read = find_bookings.whole(session, booking_id)
    assert (read.status, read.ready_on, read.items[0].ground_on) == (Status.CONFIRMED, MONDAY, MONDAY)
    assert held(session) == before
    assert (read.events[-1].event, read.events[-1].words) == (Event.MOVED, "2026-12-11 → 2026-12-14")
    letter = letters(session, cast.alice.email)[-1]
    assert letter.subject == f"New day for {read.reference}: Mon 14 December 2026"
    assert b"SEQUENCE:2" in (letter.calendar or b"")
    assert letters(session, cast.mia.email)[-1].subject == f"Moved: {read.reference}, Alice"


def test_a_request_that_is_moved_is_still_a_request(session: Session, cast: Cast) -> None:
    booking_id = of_alice(session, cast)
    move(session, cast.alice, booking_id)
    read = find_bookings.whole(session, booking_id)
    assert (read.status, read.ready_on) == (Status.REQUESTED, MONDAY)
    assert letters(session, cast.alice.email)[-1].calendar is None


def test_what_was_no_longer_held_is_held_anew_when_it_moves_or_leaves(session: Session, cast: Cast) -> None:
    days_later = NOW + timedelta(days=5)
    booking_id = of_alice(session, cast, pairs=2)
    assert bookings.lapse(session, days_later)
    leaving = [find_bookings.whole(session, booking_id).items[0].id]
    left = booking_splits.split(
        session, cast.alice, booking_id, leaving, MONDAY, reference="PART", today=TODAY, now=days_later
    )
    part = find_bookings.whole(session, left.id)
    assert (part.lapsed, find_bookings.whole(session, booking_id).lapsed) == (False, True)
    minutes = part.items[0].minutes
    assert held(session) == minutes
    booking_changes.move_to(session, cast.alice, booking_id, MONDAY, today=TODAY, now=days_later)
    assert held(session) > minutes
    assert not bookings.lapse(session, days_later), "both are held for as long as any request"


def test_the_workshop_moves_it_with_its_reason_even_when_the_pair_is_here(
    session: Session, cast: Cast
) -> None:
    booking_id = of_alice(session, cast)
    bookings.confirm(session, cast.mia, booking_id, NOW)
    item = find_bookings.whole(session, booking_id).items[0]
    grinds.check_in(session, cast.tina, item.id, NOW)
    with pytest.raises(NotNow, match="at the workshop already"):
        move(session, cast.alice, booking_id)
    told = len(letters(session, cast.mia.email))
    move(session, cast.mia, booking_id, reason="The stone\nhas a crack")
    letter = letters(session, cast.alice.email)[-1]
    assert "The reason: The stone\nhas a crack" in letter.body
    assert len(letters(session, cast.mia.email)) == told, "the workshop knows what it did"
    make.signed_off(session, cast.tina, item.id)
    grinds.record(
        session,
        cast.tina,
        item.id,
        grinds.GrindFacts(structure_id=item.structure_id, ground_on=TODAY, technician="Tina"),
        NOW,
    )
    with pytest.raises(NotNow):
        move(session, cast.mia, booking_id, FRIDAY)


def test_a_day_without_room_is_refused_and_everything_stays(session: Session, cast: Cast) -> None:
    booking_id = of_alice(session, cast)
    wednesday = TODAY + timedelta(days=2)
    make.fill_days(session, find_days.between(session, wednesday, wednesday))
    before = held(session)
    with pytest.raises(NoRoom) as full, session.begin_nested():
        move(session, cast.alice, booking_id, wednesday)
    assert full.value.next_day == TODAY + timedelta(days=3)
    session.expire_all()
    assert held(session) == before
    assert find_bookings.whole(session, booking_id).ready_on == FRIDAY


def test_who_may_not_and_when_it_cannot(session: Session, cast: Cast) -> None:
    booking_id = of_alice(session, cast)
    with pytest.raises(NotFound):
        move(session, cast.carl, booking_id)
    with pytest.raises(NotAllowed):
        move(session, cast.tina, booking_id)
    with pytest.raises(NotNow, match="has already"):
        move(session, cast.alice, booking_id, FRIDAY)
    bookings.counter(
        session, cast.mia, booking_id, ready=MONDAY, structures={}, reason="So", today=TODAY, now=NOW
    )
    with pytest.raises(NotNow, match="Answer it first"):
        move(session, cast.alice, booking_id, MONDAY + timedelta(days=1))
    bookings.cancel(session, cast.alice, booking_id, NOW)
    with pytest.raises(NotNow, match="“Cancelled”"):
        move(session, cast.alice, booking_id, MONDAY + timedelta(days=1))


def test_a_pair_is_taken_out_and_its_time_and_its_price_go_with_it(session: Session, cast: Cast) -> None:
    booking_id = of_alice(session, cast, pairs=3)
    first = find_bookings.whole(session, booking_id).items[0]
    title, minutes, before = first.pair.title, first.minutes, held(session)
    booking_changes.take_out(session, cast.alice, booking_id, first.id, NOW)
    read = find_bookings.whole(session, booking_id)
    assert len(read.items) == 2
    assert held(session) == before - minutes
    assert read.total == Decimal("98.00"), "the flattening of the first pair is gone too"
    assert (read.events[-1].event, read.events[-1].words) == (Event.TAKEN_OUT, title)
    assert letters(session, cast.alice.email)[-1].subject == f"One pair fewer in {read.reference}"
    assert title not in letters(session, cast.alice.email)[-1].body


def test_a_club_that_falls_below_a_tier_pays_the_tier_below(session: Session, cast: Cast) -> None:
    cora = make.find_people.one(session, cast.cora.person_id)
    club = find_clubs.one(session, cast.cora, cast.club_id)
    wanted = [
        make.wanted(session, make.pair(session, club_id=club.id, junior_id=make.junior(session, club).id))
        for _ in range(5)
    ]
    made = make.booking(session, cora, wanted=wanted, club_id=club.id)
    assert made.total == Decimal("232.75"), "5 x 49 less 5 %"
    with pytest.raises(NotFound):
        booking_changes.take_out(session, cast.dora, made.id, made.items[0].id, NOW)
    booking_changes.take_out(session, cast.cora, made.id, made.items[0].id, NOW)
    assert find_bookings.whole(session, made.id).total == Decimal("196.00"), "4 x 49"


def test_the_last_pair_and_a_pair_that_is_here_cannot_be_taken_out(session: Session, cast: Cast) -> None:
    booking_id = of_alice(session, cast, pairs=2)
    bookings.confirm(session, cast.mia, booking_id, NOW)
    here, other = find_bookings.whole(session, booking_id).items
    grinds.check_in(session, cast.tina, here.id, NOW)
    with pytest.raises(NotNow, match="at the workshop already"):
        booking_changes.take_out(session, cast.alice, booking_id, here.id, NOW)
    with pytest.raises(NotFound):
        booking_changes.take_out(session, cast.alice, booking_id, 10**6, NOW)
    booking_changes.take_out(session, cast.alice, booking_id, other.id, NOW)
    with pytest.raises(NotNow, match="only pair"):
        booking_changes.take_out(session, cast.alice, booking_id, here.id, NOW)
