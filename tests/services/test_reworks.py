"""Grinding a pair again: who may ask and decide, what comes of it, and what is refused."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time, timedelta
from decimal import Decimal
from typing import Any

import pytest
from sqlalchemy import select

from portal.db.bookings import Booking
from portal.db.engine import Database
from portal.db.grinds import Grind
from portal.db.outbox import OutboxLetter
from portal.db.pairs import Pair
from portal.domain.bookings import Event, Stage, Status
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.opening import Span, Special
from portal.domain.places import PlaceKind
from portal.domain.planning.promise import NoRoom
from portal.domain.rework import Case
from portal.queries import bookings as find_bookings
from portal.queries import days as find_days
from portal.queries import people as find_people
from portal.queries import reworks as find_reworks
from portal.queries import workshop as find_workshop
from portal.services import bookings, disputes, grinds, opening, pairs, places, reworks
from portal.services.places import PlaceFacts
from portal.services.reworks import Again
from tests import make
from tests.cast import Cast
from tests.make import NOW, TODAY
from tests.services.test_rosters_at_once import at_once

HAND_IN, READY = date(2026, 12, 9), date(2026, 12, 14)
SATURDAY = date(2026, 12, 12)


def ground(session: Any, cast: Cast, *, back: bool = True, **given: Any) -> tuple[Booking, Grind]:
    """A pair of Alice's that was ground, and if ``back`` handed back."""
    alice = find_people.one(session, cast.alice.person_id)
    made = make.booking(session, alice, **given)
    bookings.confirm(session, cast.mia, made.id, NOW)
    item = made.items[0]
    grinds.check_in(session, cast.tina, item.id, NOW)
    facts = grinds.GrindFacts(item.structure_id, TODAY, "Tina", (1200, 1190, 1180), (1150, 1140, 1130))
    make.signed_off(session, cast.tina, item.id, NOW)
    grind = grinds.record(session, cast.tina, item.id, facts, NOW)
    session.flush()
    if back:
        grinds.hand_back(session, cast.tina, item.id, NOW)
        session.flush()
    return made, grind


def again(grind: Grind, **given: Any) -> Again:
    return replace(Again(grind.structure_id, HAND_IN, READY, "The structure is uneven."), **given)


def make_it(session: Any, cast: Cast, grind: Grind, **given: Any) -> Booking:
    actor, reference = given.pop("actor", cast.tina), given.pop("reference", "AGAIN-1")
    asked = again(grind, **given)
    return reworks.make(session, actor, grind.id, asked, reference=reference, today=TODAY, now=NOW)


def letters(session: Any) -> list[tuple[str, str]]:
    session.flush()
    rows = session.scalars(select(OutboxLetter).order_by(OutboxLetter.id)).all()
    return [(row.recipient, row.subject) for row in rows]


def test_a_rework_is_a_confirmed_booking_of_its_own_at_no_charge(session: Any, cast: Cast) -> None:
    _first, grind = ground(session, cast)
    made = make_it(session, cast, grind)
    assert made.status is Status.CONFIRMED
    assert made.person_id == cast.alice.person_id
    assert made.total == Decimal("0.00")
    assert [(line["label"], line["each"]) for line in made.lines] == [("Ground again at no charge", "0.00")]
    item = made.items[0]
    assert (item.pair_id, item.structure_id, item.stage) == (
        grind.pair_id,
        grind.structure_id,
        Stage.AWAITED,
    )
    assert (made.hand_in_on, made.ready_on) == (HAND_IN, READY)
    # Its own place on the ledger, after the hand-in and up to the promised day.
    assert item.commitments
    assert all(HAND_IN < one.work_day.day <= READY for one in item.commitments)
    assert not find_days.drift(session)
    assert not find_days.oversold(session)


def test_both_bookings_tell_of_each_other(session: Any, cast: Cast) -> None:
    first, grind = ground(session, cast)
    made = make_it(session, cast, grind)
    session.flush()
    assert made.events[-1].event is Event.REWORKS
    assert "The structure is uneven." in made.events[-1].words
    assert first.events[-1].event is Event.REWORK_MADE
    assert made.reference in first.events[-1].words
    made_for, _own = find_reworks.of_booking(session, made.id)
    assert made_for is not None
    assert made_for.grind_id == grind.id
    _for, (own,) = find_reworks.of_booking(session, first.id)
    assert own.booking is made
    assert (own.standing, own.decided_by) == (Case.MADE, "Tina")


def test_the_owner_gets_a_letter_with_a_calendar_entry(session: Any, cast: Cast) -> None:
    _first, grind = ground(session, cast)
    make_it(session, cast, grind)
    to, subject = letters(session)[-1]
    assert to == "alice@example.test"
    assert subject.startswith("We grind your skis again: AGAIN-1")
    letter = session.scalars(select(OutboxLetter).order_by(OutboxLetter.id.desc())).first()
    assert "The structure is uneven." in letter.body
    assert letter.calendar is not None


def test_a_pair_that_is_still_here_is_checked_in_with_it_and_goes_back_with_it(
    session: Any, cast: Cast
) -> None:
    first, grind = ground(session, cast, back=False)
    made = make_it(session, cast, grind)
    session.flush()
    item = made.items[0]
    assert item.stage is Stage.CHECKED_IN
    assert made.hand_in_on == TODAY
    # Until then it is not listed to be handed back, and cannot be by its first booking.
    assert find_bookings.to_hand_back(session) == []
    found = find_bookings.in_hand(session, grind.pair_id)
    assert found is not None
    assert found.id == item.id
    with pytest.raises(NotNow, match="another booking"):
        grinds.hand_back(session, cast.tina, first.items[0].id, NOW)
    facts = grinds.GrindFacts(item.structure_id, TODAY, "Tina")
    make.signed_off(session, cast.tina, item.id, NOW)
    grinds.record(session, cast.tina, item.id, facts, NOW)
    session.flush()
    assert [one.id for one in find_bookings.to_hand_back(session)] == [item.id]
    grinds.hand_back(session, cast.tina, item.id, NOW)
    assert (first.status, made.status) == (Status.COMPLETED, Status.COMPLETED)
    assert first.items[0].stage is Stage.HANDED_BACK


def test_the_owner_asks_and_the_workshop_decides(session: Any, cast: Cast) -> None:
    first, grind = ground(session, cast)
    asked = reworks.ask(session, cast.alice, grind.id, "It pulls to the left.", TODAY, NOW)
    assert letters(session)[-1][0] == "mia@example.test"
    assert first.events[-1].event is Event.REWORK_ASKED
    with pytest.raises(NotNow, match="knows of this"):
        reworks.ask(session, cast.alice, grind.id, "Still.", TODAY, NOW)
    made = make_it(session, cast, grind)
    assert asked.standing is Case.MADE
    assert asked.booking is made
    assert asked.asked_words == "It pulls to the left."


def test_a_no_tells_why_and_is_not_asked_for_twice(session: Any, cast: Cast) -> None:
    first, grind = ground(session, cast)
    asked = reworks.ask(session, cast.alice, grind.id, "Slow.", TODAY, NOW)
    reworks.refuse(session, cast.tina, asked.id, "It is within what we state.", NOW)
    assert (asked.standing, asked.reason) == (Case.REFUSED, "It is within what we state.")
    assert first.events[-1].event is Event.REWORK_REFUSED
    assert letters(session)[-1][1].startswith("What we say to the grind")
    with pytest.raises(NotNow, match="answered already"):
        reworks.refuse(session, cast.tina, asked.id, "No.", NOW)
    with pytest.raises(NotNow, match="looked at this grind"):
        reworks.ask(session, cast.alice, grind.id, "Slow.", TODAY, NOW)
    # The workshop may still change its mind.
    assert make_it(session, cast, grind).status is Status.CONFIRMED


def test_who_may_ask_and_who_may_decide(session: Any, cast: Cast) -> None:
    _first, grind = ground(session, cast)
    with pytest.raises(NotFound):
        reworks.ask(session, cast.carl, grind.id, "Not mine.", TODAY, NOW)
    with pytest.raises(NotAllowed):
        reworks.ask(session, cast.tina, grind.id, "Not mine.", TODAY, NOW)
    with pytest.raises(NotAllowed):
        make_it(session, cast, grind, actor=cast.alice)
    with pytest.raises(NotAllowed):
        reworks.set_days(session, cast.tina, 10, NOW)


def test_the_span_ends(session: Any, cast: Cast) -> None:
    _first, grind = ground(session, cast)
    reworks.set_days(session, cast.mia, 10, NOW)
    late = TODAY + timedelta(days=11)
    with pytest.raises(NotNow, match="within 10 days"):
        reworks.ask(session, cast.alice, grind.id, "Slow.", late, NOW)
    asked = reworks.ask(session, cast.alice, grind.id, "Slow.", late - timedelta(days=1), NOW)
    # What was asked for in time may be answered later.
    found = find_reworks.grind(session, cast.tina, grind.id)
    assert reworks.insist_it_can_be_made(session, found, late) is asked


def test_only_the_last_grind_is_made_good_and_only_once(session: Any, cast: Cast) -> None:
    _first, grind = ground(session, cast)
    make_it(session, cast, grind)
    session.flush()
    with pytest.raises(NotNow, match="ground again already"):
        make_it(session, cast, grind, reference="AGAIN-2")
    facts = grinds.GrindFacts(grind.structure_id, TODAY, "Tina")
    newer = grinds.add(session, grind.pair_id, facts, NOW)
    session.flush()
    assert newer.id != grind.id
    with pytest.raises(NotNow, match="ground since"):
        reworks.ask(session, cast.alice, grind.id, "Slow.", TODAY, NOW)


def test_a_rework_that_was_called_off_can_be_made_anew(session: Any, cast: Cast) -> None:
    _first, grind = ground(session, cast)
    made = make_it(session, cast, grind)
    session.flush()
    bookings.cancel(session, cast.alice, made.id, NOW)
    session.flush()
    assert make_it(session, cast, grind, reference="AGAIN-2").status is Status.CONFIRMED


def test_a_pair_in_another_booking_and_a_thin_base_are_refused(session: Any, cast: Cast) -> None:
    first, grind = ground(session, cast)
    find_workshop.the(session).minimum_um = 1125
    with pytest.raises(NotNow, match="Do not grind this pair again"):
        make_it(session, cast, grind)
    find_workshop.the(session).minimum_um = 500
    alice = find_people.one(session, cast.alice.person_id)
    other = make.booking(session, alice, pair=first.items[0].pair)
    with pytest.raises(NotNow, match=other.reference):
        make_it(session, cast, grind)


def test_a_pair_that_is_frozen_or_archived_waits_though_its_rework_was_asked_for(
    session: Any, cast: Cast
) -> None:
    _first, grind = ground(session, cast)
    reworks.ask(session, cast.alice, grind.id, "It pulls to the left.", TODAY, NOW)
    disputes.freeze(session, cast.tina, grind.pair_id, "Two say it is theirs", NOW)
    with pytest.raises(NotNow, match="being cleared up"):
        make_it(session, cast, grind)
    disputes.clear(session, cast.mia, grind.pair_id, NOW)
    pairs.archive(session, cast.alice, grind.pair_id, NOW)
    with pytest.raises(NotNow, match="is archived"):
        make_it(session, cast, grind)
    pairs.restore(session, cast.alice, grind.pair_id)
    assert make_it(session, cast, grind).status is Status.CONFIRMED


def test_no_rework_is_made_for_a_pair_that_is_frozen_at_this_moment(database: Database, cast: Cast) -> None:
    with database.write.begin() as session:
        _first, grind = ground(session, cast)
        session.expunge(grind)
    got = at_once(
        database,
        lambda session: disputes.freeze(session, cast.tina, grind.pair_id, "Two say it is theirs", NOW),
        lambda session: make_it(session, cast, grind),
    )
    assert got == "NotNow"


def test_a_full_stone_says_the_next_day(session: Any, cast: Cast) -> None:
    _first, grind = ground(session, cast)
    make.fill_days(session, find_days.between(session, HAND_IN, READY))
    with pytest.raises(NoRoom) as full:
        make_it(session, cast, grind)
    assert full.value.next_day == READY + timedelta(days=1)


def test_a_pair_comes_in_on_a_day_on_which_only_the_door_is_open(session: Any, cast: Cast) -> None:
    _first, grind = ground(session, cast)
    with pytest.raises(NotNow, match="on which the workshop is open"):
        make_it(session, cast, grind, hand_in=SATURDAY, ready=READY)
    fair = Special(SATURDAY, "Fair", (Span(time(9), time(12)),))
    opening.change(session, cast.mia, lambda old: old.with_specials(fair), NOW)
    made = make_it(session, cast, grind, hand_in=SATURDAY, ready=READY)
    assert (made.hand_in_on, made.arrives_on, made.place_id) == (SATURDAY, SATURDAY, None)


def test_a_pair_comes_by_the_place_that_is_left_and_is_ground_after_its_way(session: Any, cast: Cast) -> None:
    _first, grind = ground(session, cast)
    weekend = frozenset({5})
    van = places.add(
        session, cast.mia, PlaceFacts("Tarn", PlaceKind.VAN, weekdays=weekend, travel_days=2), NOW
    )
    counter = places.add(session, cast.mia, PlaceFacts("Desk", PlaceKind.COUNTER), NOW)
    session.flush()
    places.retire(session, cast.mia, counter.id, NOW)
    tuesday = READY + timedelta(days=1)
    faulty = find_reworks.grind(session, cast.tina, grind.id)
    asked = again(grind, hand_in=SATURDAY)
    offered = reworks.possible_days(session, faulty, grind.structure, asked, TODAY)
    assert offered[0].day == tuesday
    made = make_it(session, cast, grind, hand_in=SATURDAY, ready=tuesday)
    assert (made.place_id, made.arrives_on) == (van.id, READY)
    assert [one.work_day.day for one in made.items[0].commitments] == [tuesday]


def test_a_club_s_pair_goes_into_the_club_s_order(session: Any, cast: Cast) -> None:
    cora = find_people.one(session, cast.cora.person_id)
    pair = session.get(Pair, cast.club_pair_id)
    made = make.booking(session, cora, wanted=[make.wanted(session, pair)], club_id=cast.club_id, pair=pair)
    bookings.confirm(session, cast.mia, made.id, NOW)
    item = made.items[0]
    grinds.check_in(session, cast.tina, item.id, NOW)
    make.signed_off(session, cast.tina, item.id, NOW)
    grind = grinds.record(
        session, cast.tina, item.id, grinds.GrindFacts(item.structure_id, TODAY, "Tina"), NOW
    )
    session.flush()
    grinds.hand_back(session, cast.tina, item.id, NOW)
    again = make_it(session, cast, grind)
    assert (again.club_id, again.person_id) == (cast.club_id, cast.cora.person_id)
