"""What passes over the counter: rules for changes, notes, somebody who called, a price that was agreed on."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from sqlalchemy.orm import Session

from demo_seed.bench import Bench, moment
from demo_seed.people import People
from portal.domain.access import Actor
from portal.domain.answers import Discipline
from portal.domain.bookings import Status
from portal.domain.change_rules import ChangeRules
from portal.queries import bookings as find_bookings
from portal.queries import requests as find_requests
from portal.services import booking_notes, bookings, change_terms, walk_ins
from portal.services import people as known
from portal.services.bookings import Wanted
from portal.services.pairs import PairFacts

RULES = ChangeRules(3, 0, Decimal("10.00"), Decimal("5.00"), Decimal("15.00"))
HOLD_HOURS = 72


def open_up(session: Session, bench: Bench, people: People, today: date) -> None:
    """Set the rules, write to each other, and take a booking by telephone; all of it before ``today``."""
    yesterday = today - timedelta(days=1)
    _write(session, people, yesterday)
    _take_a_call(session, bench, people, yesterday)
    change_terms.keep_rules(session, people.shop_manager, RULES, HOLD_HOURS, moment(yesterday, 17))


def _write(session: Session, people: People, day: date) -> None:
    skier, technician = people.skiers[0], people.technicians[0]
    agreed = [
        one for one in find_bookings.of_person(session, skier.person_id) if one.status is Status.CONFIRMED
    ]
    for booking in agreed[:1]:
        for hour, who, words in (
            (15, skier, "Can I bring them after seven in the evening?"),
            (16, technician, "Yes. Ring the bell at the side door."),
        ):
            booking_notes.write(session, who, booking.id, words, moment(day, hour))
    waiting, _total = find_requests.page(session, find_requests.Queue(of_club=False), 1)
    for booking in waiting[-1:]:
        ordered = next((one for one in people.skiers if one.person_id == booking.person_id), None)
        if ordered is not None:
            words = "I could also bring them two days earlier."
            booking_notes.write(session, ordered, booking.id, words, moment(day, 18))


def _take_a_call(session: Session, bench: Bench, people: People, day: date) -> None:
    technician: Actor = people.technicians[0]
    caller = known.add(session, technician, "Hallam Tarnwick", None, "+00 555 0177", "en", moment(day, 9))
    facts = PairFacts("Fjellrapp", Discipline.CLASSIC, "Classic Light", length_cm=202, mark="H.T.")
    pair = walk_ins.register_pair(session, technician, caller.id, facts, moment(day, 9))
    wanted = [Wanted(pair.id, bench.structures[Discipline.CLASSIC][0].id, saturation=True)]
    hand_in = bench.work_days(day, day + timedelta(days=14))[0]
    possible = [one.day for one in bookings.possible_days(session, wanted, hand_in, day) if one.is_possible]
    if possible:
        walk_ins.take(
            session,
            technician,
            caller.id,
            wanted,
            hand_in=hand_in,
            ready=possible[0],
            note="Called from the road; hands them in himself.",
            reference=bench.reference(),
            today=day,
            now=moment(day, 9, 5),
        )
