"""What is written down at the counter, and changed afterwards."""

from __future__ import annotations

import pytest
from sqlalchemy.orm import Session

from portal.db.bookings import BookingItem
from portal.domain.arrivals import CheckIn
from portal.domain.base_life import Thickness
from portal.domain.bookings import Event
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.photos import Picture
from portal.queries import arrivals as find_arrivals
from portal.queries import grinds as find_grinds
from portal.services import arrivals, bookings, grinds
from tests import make
from tests.cast import Cast
from tests.make import NOW

PICTURE = Picture(b"a picture", 4, 3)


def here(session: Session, cast: Cast, *pictures: Picture) -> BookingItem:
    """A pair of Alice's that has just come in."""
    made = make.booking(session, make.find_people.one(session, cast.alice.person_id))
    bookings.confirm(session, cast.mia, made.id, NOW)
    (item,) = made.items
    grinds.check_in(session, cast.tina, item.id, NOW, CheckIn(), pictures)
    session.flush()
    return item


def test_a_pair_that_came_in_before_anything_was_noted_is_noted_later(session: Session, cast: Cast) -> None:
    item = here(session, cast)
    session.delete(find_arrivals.check_in_of(session, item.id))
    session.flush()
    found = CheckIn(thickness=Thickness(1100, None, None))
    arrivals.correct(session, cast.tina, item.id, found, [PICTURE], NOW)
    row = find_arrivals.check_in_of(session, item.id)
    assert row is not None
    assert (row.tip_um, len(row.photos)) == (1100, 1)
    assert find_grinds.thinnest_now_um(session, item.pair_id) == 1100


def test_only_who_works_here_writes_down_what_was_found(session: Session, cast: Cast) -> None:
    item = here(session, cast)
    with pytest.raises(NotAllowed):
        arrivals.correct(session, cast.alice, item.id, CheckIn(), (), NOW)
    with pytest.raises(NotFound):
        arrivals.correct(session, cast.carl, item.id, CheckIn(), (), NOW)
    make.signed_off(session, cast.tina, item.id, NOW)
    grinds.record(session, cast.tina, item.id, grinds.GrindFacts(item.structure_id, make.TODAY, "Tina"), NOW)
    with pytest.raises(NotNow, match="stays as it is"):
        arrivals.correct(session, cast.tina, item.id, CheckIn(), (), NOW)


def test_a_photo_is_removed_by_who_works_here_also_without_its_booking(session: Session, cast: Cast) -> None:
    item = here(session, cast, PICTURE, PICTURE)
    row = find_arrivals.check_in_of(session, item.id)
    assert row is not None
    first, second = row.photos
    with pytest.raises(NotAllowed):
        arrivals.remove_photo(session, cast.alice, first.id, NOW)
    with pytest.raises(NotFound):
        arrivals.remove_photo(session, cast.carl, first.id, NOW)
    arrivals.remove_photo(session, cast.tina, first.id, NOW)
    session.flush()
    assert item.booking.events[-1].event is Event.CORRECTED
    row.item_id = None
    session.flush()
    arrivals.remove_photo(session, cast.tina, second.id, NOW)
    session.flush()
    assert row.photos == []
    assert len([one for one in item.booking.events if one.event is Event.CORRECTED]) == 1
