"""Notes between skier and workshop: who may write and read, who gets the letter, and when a note counts as seen."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.outbox import OutboxLetter
from portal.domain.errors import NotFound, NotNow
from portal.queries import booking_notes as find_notes
from portal.services import booking_notes
from tests import make
from tests.cast import Cast
from tests.make import NOW


def of_alice(session: Session, cast: Cast) -> int:
    return make.booking(session, make.find_people.one(session, cast.alice.person_id)).id


def letters(session: Session) -> list[tuple[str, str]]:
    rows = session.scalars(select(OutboxLetter).order_by(OutboxLetter.id))
    return [(row.recipient, row.subject) for row in rows if "note" in row.subject.lower()]


def test_a_note_goes_to_the_other_side_and_back(session: Session, cast: Cast) -> None:
    booking_id = of_alice(session, cast)
    booking_notes.write(session, cast.alice, booking_id, "Can I come by seven?", NOW)
    booking_notes.write(session, cast.tina, booking_id, "Yes, ring the bell.", NOW)
    assert [(who, subject.split(" about")[0]) for who, subject in letters(session)] == [
        ("mia@example.test", "New note"),
        ("alice@example.test", "A note from the workshop"),
    ]
    bodies = list(session.scalars(select(OutboxLetter.body).order_by(OutboxLetter.id)))
    assert "Can I come by seven?" in bodies[-2]
    assert f"{{site}}/shop/bookings/{booking_id}#notes" in bodies[-2]
    assert "Yes, ring the bell." in bodies[-1]
    assert f"{{site}}/my/bookings/{booking_id}#notes" in bodies[-1]
    assert [note.from_workshop for note in find_notes.of_booking(session, booking_id)] == [False, True]


def test_a_club_note_goes_to_every_manager_of_the_club(session: Session, cast: Cast) -> None:
    cora = make.find_people.one(session, cast.cora.person_id)
    pair = make.pair(session, club_id=cast.club_id, junior_id=cast.junior_id)
    made = make.booking(session, cora, wanted=[make.wanted(session, pair)], club_id=cast.club_id)
    booking_notes.write(session, cast.mia, made.id, "One pair is missing.", NOW)
    assert letters(session)[-1][0] == cast.cora.email
    with pytest.raises(NotFound):
        booking_notes.write(session, cast.dora, made.id, "Which one?", NOW)


def test_nobody_else_writes_or_counts_as_having_seen(session: Session, cast: Cast) -> None:
    booking_id = of_alice(session, cast)
    with pytest.raises(NotFound):
        booking_notes.write(session, cast.carl, booking_id, "Hello", NOW)
    booking_notes.write(session, cast.alice, booking_id, "Hello", NOW)
    with pytest.raises(NotFound):
        booking_notes.mark_seen(session, cast.carl, booking_id, NOW)
    booking_notes.mark_seen(session, cast.alice, booking_id, NOW)
    assert find_notes.unseen(session, [booking_id]) == {booking_id}
    booking_notes.mark_seen(session, cast.tina, booking_id, NOW)
    assert find_notes.unseen(session, [booking_id]) == frozenset()


def test_an_answer_of_the_workshop_has_seen_what_it_answers(session: Session, cast: Cast) -> None:
    booking_id = of_alice(session, cast)
    booking_notes.write(session, cast.alice, booking_id, "Hello", NOW)
    booking_notes.write(session, cast.mia, booking_id, "Hello too", NOW)
    assert find_notes.unseen(session, [booking_id]) == frozenset()


def test_nobody_is_flooded_and_another_day_is_another_day(session: Session, cast: Cast) -> None:
    booking_id = of_alice(session, cast)
    for _ in range(booking_notes.MOST_A_DAY):
        booking_notes.write(session, cast.alice, booking_id, "And another thing", NOW)
    with pytest.raises(NotNow, match="telephone call"):
        booking_notes.write(session, cast.alice, booking_id, "One more", NOW)
    booking_notes.write(session, cast.mia, booking_id, "We have read it all", NOW)
    booking_notes.write(session, cast.alice, booking_id, "Thanks", NOW + timedelta(days=1, minutes=1))
