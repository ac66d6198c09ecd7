"""Skis that are ready: told once, reminded so often and no more, and where they lie."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.audit import AuditEntry
from portal.db.bookings import Booking
from portal.db.outbox import OutboxLetter
from portal.domain.bookings import Event, Stage
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.queries import arrivals as find_arrivals
from portal.queries import bookings as find_bookings
from portal.queries import workshop as find_workshop
from portal.services import bookings, collecting, grinds
from tests import make
from tests.cast import Cast
from tests.make import NOW, TODAY

DAY = timedelta(days=1)


def ready(session: Session, cast: Cast, *, pairs: int = 1, ground: int | None = None) -> Booking:
    """A booking of Alice's whose pairs are here, all or some of them ground, just now."""
    alice = make.find_people.one(session, cast.alice.person_id)
    wanted = [make.wanted(session, make.pair(session, alice)) for _ in range(pairs)]
    made = make.booking(session, alice, wanted=wanted)
    bookings.confirm(session, cast.mia, made.id, NOW)
    for item in made.items:
        grinds.check_in(session, cast.tina, item.id, NOW)
    for item in made.items[: pairs if ground is None else ground]:
        grind(session, cast, made, item.id)
    session.flush()
    return made


def grind(session: Session, cast: Cast, made: Booking, item_id: int, now: datetime = NOW) -> None:
    facts = grinds.GrindFacts(made.items[0].structure_id, TODAY, "Tina", shelf="B 4")
    make.signed_off(session, cast.tina, item_id, now)
    grinds.record(session, cast.tina, item_id, facts, now)


def subjects(session: Session, cast: Cast, words: str) -> list[str]:
    rows = select(OutboxLetter.subject).where(OutboxLetter.recipient == cast.alice.email)
    return [subject for subject in session.scalars(rows) if words in subject]


def remind_all(session: Session, now: datetime) -> int:
    count = 0
    while collecting.remind(session, now):
        session.flush()
        count += 1
        assert count < 10, "it comes to an end"
    return count


def test_ready_is_told_once_also_when_a_pair_is_ground_again(session: Session, cast: Cast) -> None:
    made = ready(session, cast)
    assert len(subjects(session, cast, "are ready")) == 1
    # Whatever takes the grind back, the letter has been sent.
    item = made.items[0]
    item.stage = Stage.CHECKED_IN
    collecting.tell_when_ready(session, made, NOW)
    item.stage = Stage.GROUND
    collecting.tell_when_ready(session, made, NOW + DAY)
    assert len(subjects(session, cast, "are ready")) == 1
    assert made.ready_told_at == NOW


def test_people_are_reminded_every_so_many_days_and_three_times_at_most(session: Session, cast: Cast) -> None:
    made = ready(session, cast)
    assert find_workshop.the(session).remind_days == 7
    counts = [remind_all(session, NOW + number * DAY) for number in range(40)]
    assert [number for number, count in enumerate(counts) if count] == [7, 14, 21]
    assert len(subjects(session, cast, "wait for you")) == made.reminders == 3
    assert [event.event for event in made.events].count(Event.REMINDED) == 3
    assert made.events[-1].person_id is None
    letter = session.scalars(select(OutboxLetter).order_by(OutboxLetter.id.desc())).first()
    assert letter is not None
    assert "have been ready since Mon 7 December 2026" in letter.body


def test_with_no_days_nobody_is_reminded(session: Session, cast: Cast) -> None:
    ready(session, cast)
    collecting.set_remind_days(session, cast.mia, 0, NOW)
    assert remind_all(session, NOW + 100 * DAY) == 0


def test_nobody_is_reminded_of_what_is_not_ready_or_has_gone(session: Session, cast: Cast) -> None:
    ready(session, cast, pairs=2, ground=1)
    gone = ready(session, cast)
    grinds.hand_back(session, cast.tina, gone.items[0].id, NOW)
    undone = ready(session, cast)
    undone.items[0].stage = Stage.CHECKED_IN
    session.flush()
    assert remind_all(session, NOW + 30 * DAY) == 0


def test_each_booking_is_reminded_by_itself(session: Session, cast: Cast) -> None:
    first, second = ready(session, cast, pairs=2), ready(session, cast)
    grinds.hand_back(session, cast.tina, first.items[0].id, NOW)
    session.flush()
    assert remind_all(session, NOW + 7 * DAY) == 2
    assert (first.reminders, second.reminders) == (1, 1)


def test_without_a_workshop_there_is_nobody_to_remind(session: Session, cast: Cast) -> None:
    workshop = find_workshop.the(session)
    session.delete(workshop)
    session.flush()
    assert not collecting.remind(session, NOW)


def test_the_days_are_set_by_the_shop_manager_and_noted(session: Session, cast: Cast) -> None:
    collecting.set_remind_days(session, cast.mia, 10, NOW)
    assert find_workshop.the(session).remind_days == 10
    session.flush()
    assert session.scalars(select(AuditEntry.words)).all() == ["7 → 10 days"]
    with pytest.raises(NotAllowed):
        collecting.set_remind_days(session, cast.tina, 3, NOW)
    with pytest.raises(NotNow):
        collecting.set_remind_days(session, cast.mia, 91, NOW)


def test_where_a_pair_lies_is_noted_as_long_as_it_waits(session: Session, cast: Cast) -> None:
    made = ready(session, cast, pairs=2)
    first, second = made.items
    assert (first.shelf, second.shelf) == ("B 4", "B 4")
    assert collecting.put_on_shelves(session, cast.tina, {first.id: "C 1", second.id: "B 4"}) == 1
    assert (first.shelf, second.shelf) == ("C 1", "B 4")
    grinds.hand_back(session, cast.tina, first.id, NOW)
    session.flush()
    assert collecting.put_on_shelves(session, cast.tina, {first.id: "A 1"}) == 0
    with pytest.raises(NotAllowed):
        collecting.put_on_shelves(session, cast.alice, {second.id: "mine"})


def test_the_storage_list_begins_with_what_waits_longest_and_has_pages(session: Session, cast: Cast) -> None:
    late = ready(session, cast, ground=0)
    early = ready(session, cast)
    late = find_bookings.whole(session, late.id)  # Work on the other one read this one without its pairs.
    grind(session, cast, late, late.items[0].id, NOW + DAY)
    session.flush()
    listed, total = find_arrivals.in_storage(session, 1)
    assert ([item.booking_id for item in listed], total) == ([early.id, late.id], 2)
    assert find_arrivals.in_storage(session, 2) == ([], 2)


def test_a_photo_that_is_none_is_not_found(session: Session, cast: Cast) -> None:
    with pytest.raises(NotFound):
        find_arrivals.photo(session, cast.tina, 1)
