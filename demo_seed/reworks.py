"""Grinds with something wrong: one made good, one that waits for the workshop's answer, one that is as it should be."""

from __future__ import annotations

from datetime import date, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session

from demo_seed.bench import moment
from portal.db.bookings import Booking, BookingItem
from portal.db.grinds import Grind
from portal.domain.access import Actor
from portal.domain.bookings import Stage
from portal.queries import people as find_people
from portal.queries import reworks as find_reworks
from portal.services import places, reworks
from portal.services.reworks import Again

WORDS = (
    "The left ski grabs on wet snow, the right one runs as it should.",
    "It feels slower than before the grind, on old snow.",
    "Fine lines across the base near the tail. Is that meant?",
)
NO = "The lines are where one pass ends and the next begins; they are within what we state and go with the first wax."


def look_back(session: Session, technician: Actor, today: date) -> None:
    """Three of the pairs that went back in the last days, by the newest."""
    rows = (
        select(Grind.id, Booking.person_id)
        .join(BookingItem, BookingItem.id == Grind.item_id)
        .join(Booking, Booking.id == BookingItem.booking_id)
        .where(
            BookingItem.stage == Stage.HANDED_BACK,
            Booking.club_id.is_(None),
            Grind.ground_on > today - timedelta(days=25),
        )
        .order_by(Grind.id)
    )
    found = [(grind_id, find_people.one(session, owner)) for grind_id, owner in session.execute(rows)]
    asked = []
    for number, ((grind_id, owner), words) in enumerate(zip(found, WORDS, strict=False)):
        at = moment(today - timedelta(days=2), 17 + number)
        asked.append(
            reworks.ask(session, find_people.actor_of(session, owner), grind_id, words, at.date(), at)
        )
    if len(asked) == len(WORDS):
        session.flush()  # The answers name the numbers of the questions.
        _make(session, technician, asked[0].grind_id, today)
        reworks.refuse(session, technician, asked[2].id, NO, moment(today - timedelta(days=1), 16, 20))


def _make(session: Session, technician: Actor, grind_id: int, today: date) -> None:
    """The first day that can be promised after the next hand-in day."""
    faulty = find_reworks.grind(session, technician, grind_id)
    hand_in = places.days(session, places.chosen(session, None, None), moment(today, 7, 15))[0]
    again = Again(
        faulty.grind.structure_id, hand_in, hand_in, "The structure is uneven.\nOnly the left ski is meant."
    )
    days = reworks.possible_days(session, faulty, faulty.grind.structure, again, today)
    ready = next(offer.day for offer in days if offer.is_possible)
    reworks.make(
        session,
        technician,
        grind_id,
        Again(again.structure_id, hand_in, ready, again.reason),
        reference="RWK-7A4C",
        today=today,
        now=moment(today - timedelta(days=1), 16, 5),
    )
