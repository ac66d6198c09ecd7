"""Booking for somebody at the counter: who may, what is kept, and that no mailbox's account is taken over by it."""

from __future__ import annotations

from datetime import date

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.outbox import OutboxLetter
from portal.domain.access import Actor
from portal.domain.answers import Discipline
from portal.domain.bookings import Event, Status
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.queries import bookings as find_bookings
from portal.queries import customers as find_customers
from portal.services import accounts, people, references, walk_ins
from portal.services.bookings import Wanted
from portal.services.links import Links
from portal.services.pairs import PairFacts
from tests import make
from tests.cast import Cast
from tests.make import NOW, TODAY

LINKS = Links(["a secret for tests that is long enough"])
HASH, OTHER = "$argon2id$first-password", "$argon2id$second-password"
FRIDAY = date(2026, 12, 11)


def take(session: Session, actor: Actor, person_id: int, pair_id: int | None = None) -> int:
    """A booking for one pair, new unless it is named."""
    if pair_id is None:
        facts = PairFacts("Fennmark", Discipline.SKATE)
        pair_id = walk_ins.register_pair(session, actor, person_id, facts, NOW).id
    made = walk_ins.take(
        session,
        actor,
        person_id,
        [Wanted(pair_id, make.structure(session).id)],
        hand_in=TODAY,
        ready=FRIDAY,
        note="By telephone",
        reference=f"W{pair_id}",
        today=TODAY,
        now=NOW,
    )
    return made.id


def letters(session: Session) -> list[tuple[str, str, str]]:
    rows = session.scalars(select(OutboxLetter).order_by(OutboxLetter.id))
    return [(row.recipient, row.subject, row.body) for row in rows]


def test_it_is_confirmed_at_once_and_says_who_took_it(session: Session, cast: Cast) -> None:
    person = people.add(session, cast.tina, "Bo Fell", "bo@example.test", "+00 555 0123", "en", NOW)
    made = find_bookings.whole(session, take(session, cast.tina, person.id))
    assert (made.status, made.person_id, made.held_until) == (Status.CONFIRMED, person.id, None)
    assert [(event.event, event.person_id) for event in made.events] == [
        (Event.TAKEN_AT_DESK, cast.tina.person_id)
    ]
    assert made.items[0].ground_on is not None
    ((recipient, subject, body),) = letters(session)
    assert (recipient, subject) == (
        "bo@example.test",
        f"Confirmed: {made.reference}, ready on Fri 11 December 2026",
    )
    assert "{site}/forgotten" in body


def test_whoever_has_no_address_gets_no_letter(session: Session, cast: Cast) -> None:
    person = people.add(session, cast.tina, "Bo Fell", None, "", "en", NOW)
    other = people.add(session, cast.tina, "Bo Fell", None, "", "en", NOW)
    assert person.id != other.id
    take(session, cast.tina, person.id)
    assert letters(session) == []


def test_only_staff_book_for_others_and_only_their_own_pairs(session: Session, cast: Cast) -> None:
    with pytest.raises(NotAllowed):
        people.add(session, cast.alice, "Bo Fell", None, "", "en", NOW)
    with pytest.raises(NotAllowed):
        walk_ins.register_pair(
            session, cast.alice, cast.carl.person_id, PairFacts("X", Discipline.SKATE), NOW
        )
    with pytest.raises(NotFound):
        take(session, cast.carl, cast.alice.person_id, cast.pair_id)
    with pytest.raises(NotAllowed):
        take(session, cast.alice, cast.alice.person_id, cast.pair_id)
    with pytest.raises(NotFound):
        take(session, cast.tina, cast.carl.person_id, cast.pair_id)
    with pytest.raises(NotFound):
        take(session, cast.tina, cast.alice.person_id, cast.club_pair_id)
    take(session, cast.tina, cast.alice.person_id, cast.pair_id)


def test_an_address_belongs_to_one_person(session: Session, cast: Cast) -> None:
    with pytest.raises(NotNow, match="Find them by it"):
        people.add(session, cast.tina, "Another Alice", cast.alice.email, "", "en", NOW)
    person = people.add(session, cast.tina, "Bo Fell", None, "", "en", NOW)
    with pytest.raises(NotNow, match="Find them by it"):
        people.keep_contact(session, cast.tina, person.id, cast.alice.email, "1", NOW)
    people.keep_contact(session, cast.tina, person.id, "bo@example.test", "2", NOW)
    people.keep_contact(session, cast.tina, person.id, "else@example.test", "3", NOW)
    assert (person.email, person.phone) == ("bo@example.test", "3"), "a known address stays"


def newest_token(session: Session, word: str) -> str:
    body = letters(session)[-1][2]
    return body.split(f"{{site}}/{word}/", 1)[1].split()[0]


def test_the_mailbox_claims_the_account_and_whoever_signs_up_with_it_does_not(
    session: Session, cast: Cast
) -> None:
    person = people.add(session, cast.tina, "Bo Fell", "bo@example.test", "", "en", NOW)
    take(session, cast.tina, person.id)
    accounts.sign_up(session, LINKS, accounts.NewPerson("bo@example.test", "Mallory", HASH), "192.0.2.1", NOW)
    assert (person.name, person.password_hash, person.confirmed_at) == ("Bo Fell", None, None)
    accounts.reset_password(session, LINKS, newest_token(session, "reset"), OTHER, NOW)
    assert (person.password_hash, person.confirmed_at) == (OTHER, NOW)


def test_a_password_chosen_before_and_never_proved_is_dropped_with_its_link(
    session: Session, cast: Cast
) -> None:
    accounts.sign_up(session, LINKS, accounts.NewPerson("bo@example.test", "Mallory", HASH), "192.0.2.1", NOW)
    link = newest_token(session, "confirm")
    person = make.find_people.by_email(session, "bo@example.test")
    assert person is not None
    take(session, cast.mia, person.id)
    assert person.password_hash is None
    assert accounts.confirm(session, LINKS, link, NOW) is None
    accounts.ask_for_reset(session, LINKS, "bo@example.test", "192.0.2.2", NOW)
    accounts.reset_password(session, LINKS, newest_token(session, "reset"), OTHER, NOW)
    assert person.password_hash == OTHER


def test_an_account_that_is_its_owners_is_left_as_it_is(session: Session, cast: Cast) -> None:
    alice = make.find_people.one(session, cast.alice.person_id)
    alice.password_hash = HASH
    take(session, cast.tina, alice.id, cast.pair_id)
    assert alice.password_hash == HASH


def test_people_of_the_same_name_are_told_apart(session: Session, cast: Cast) -> None:
    first = people.add(session, cast.tina, "Bo Fell", None, "+00 (555) 01-23", "en", NOW)
    second = people.add(session, cast.tina, "bo fell", "bo@example.test", "", "en", NOW)
    take(session, cast.tina, first.id)
    found = find_customers.named(session, "BO FELL")
    assert [one.person.id for one in found] == [first.id, second.id]
    assert [(one.pairs, one.last_booked) for one in found] == [(1, NOW), (0, None)]
    assert [one.person.id for one in find_customers.found(session, "5550123")] == [first.id]
    assert [one.person.id for one in find_customers.found(session, "bo@")] == [second.id]
    assert find_customers.found(session, "123") == [], "so few digits are no telephone number"
    assert find_customers.found(session, "alder") == []
    (cora,) = find_customers.found(session, "cora")
    assert cora.clubs == ["Alder Valley Ski Club"]


def test_a_reference_that_is_taken_is_drawn_again(session: Session, cast: Cast) -> None:
    taken = references.drawn(session, lambda _below: 7)
    make.booking(session, make.person(session), reference=taken)
    draws = iter([7, 7, 8])
    assert references.drawn(session, lambda _below: next(draws)) != taken
    with pytest.raises(NotNow, match="Send it again"):
        references.drawn(session, lambda _below: 7)
