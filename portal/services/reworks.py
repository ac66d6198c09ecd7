"""Grinding a pair again because something was wrong with a grind."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from portal.db.bookings import Booking, BookingItem
from portal.db.catalogue import Structure
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.db.reworks import Rework
from portal.db.workshop import Workshop
from portal.domain.access import Action, Actor, insist
from portal.domain.audit import Act
from portal.domain.bookings import Event, Stage, Status
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.planning.promise import Offer, offers
from portal.domain.rework import Case, no_charge
from portal.domain.words import N_, Phrase
from portal.mail.messages import Kind
from portal.queries import bookings as find_bookings
from portal.queries import catalogue as find_structures
from portal.queries import clubs as find_clubs
from portal.queries import days as find_days
from portal.queries import people as find_people
from portal.queries import reworks as find_reworks
from portal.queries import workshop as find_workshop
from portal.queries.reworks import Faulty
from portal.services import audit, billing, bookings, holds, notices, places

# Shown beside what it is about, so that the letters find the words after the first line.
PAIR_AND_WORDS = "{pair}\n{words}"


@dataclass(frozen=True)
class Again:
    """What is done to make a grind good, and by when."""

    structure_id: int
    hand_in: date
    ready: date
    reason: str = ""
    flattening: bool = False
    saturation: bool = False


def why_not(session: Session, faulty: Faulty, today: date) -> Phrase | str | None:
    """Why nothing can be asked for or made for this grind now, or nothing when it can."""
    refusal = _stands_against(session, faulty)
    workshop = find_workshop.the(session)
    if refusal is None and today > faulty.last_day(workshop):
        return Phrase(
            N_("A grind is made good within %(days)s days, and they are over. Book a new grind."),
            {"days": workshop.rework_days},
        )
    return refusal


def _stands_against(session: Session, faulty: Faulty) -> str | None:
    """What no rework is made against, however long ago it was asked for."""
    if faulty.grind.pair.frozen_at is not None:
        return N_("Whom the pair belongs to is being cleared up. It is ground again when that is settled.")
    if faulty.grind.pair.archived_at is not None:
        return N_("The pair is archived. Its owner brings it back first.")
    if find_reworks.newest_of(session, faulty.grind.pair_id) != faulty.grind.id:
        return N_("The pair has been ground since. Look at its last grind.")
    return None


def ask(session: Session, actor: Actor, grind_id: int, words: str, today: date, now: datetime) -> Rework:
    """Whoever owns the pair says that something is wrong; the workshop decides."""
    faulty = find_reworks.grind(session, actor, grind_id, to_write=True)
    insist(actor, Action.BOOK_PAIR, faulty.grind.pair)
    if faulty.item is None:
        raise NotFound
    refusal = why_not(session, faulty, today)
    if refusal is not None:
        raise NotNow(refusal)
    if find_reworks.standing_of(session, grind_id) is not None:
        raise NotNow(N_("The workshop knows of this already. Its answer stands in the pair's history."))
    if find_reworks.refused_before(session, grind_id):
        raise NotNow(
            N_("The workshop has looked at this grind and answered. Write or call to talk about it.")
        )
    made = Rework(
        grind_id=grind_id, standing=Case.ASKED, asked_by_id=actor.person_id, asked_words=words, created_at=now
    )
    session.add(made)
    _note(faulty, Event.REWORK_ASKED, actor, now, words)
    session.flush()  # The letter reads the event back.
    notices.tell(session, Kind.REWORK_ASKED, faulty.item.booking_id, now, but_orderer=_has_passed_on(faulty))
    return made


def refuse(session: Session, actor: Actor, rework_id: int, reason: str, now: datetime) -> None:
    """The workshop has looked at the grind and does not do it again; the owner reads why."""
    rework = find_reworks.one(session, rework_id, to_write=True)
    insist(actor, Action.DECIDE_REWORK, rework.grind.pair)
    insist_it_waits(rework)
    faulty = find_reworks.grind(session, actor, rework.grind_id)
    _decide(rework, Case.REFUSED, actor, reason, now)
    _note(faulty, Event.REWORK_REFUSED, actor, now, reason)
    session.flush()  # The letter reads the event back.
    if faulty.item is not None:
        notices.tell(
            session, Kind.REWORK_REFUSED, faulty.item.booking_id, now, but_orderer=_has_passed_on(faulty)
        )


def possible_days(
    session: Session, faulty: Faulty, structure: Structure, again: Again, today: date
) -> tuple[Offer, ...]:
    """What can be promised for the pair with this structure, these extras and this hand-in day."""
    workshop = find_workshop.the(session)
    work = find_structures.work(workshop, structure, flattening=again.flattening, saturation=again.saturation)
    if faulty.is_here:
        arrives = today
    else:
        arrives = places.arrival(session, places.chosen(session, None, None), max(again.hand_in, today))
    return offers([work], find_days.rooms(session, arrives, holds.last_day(workshop, today)), arrives)


def make(
    session: Session, actor: Actor, grind_id: int, again: Again, *, reference: str, today: date, now: datetime
) -> Booking:
    """A confirmed booking of its own at no charge, with its place on the stone, that grinds the pair again.

    A pair that is still here is checked in with it at once. ``NoRoom`` with the next possible day when the stone is full.
    """
    faulty = find_reworks.grind(session, actor, grind_id, to_write=True)
    pair = faulty.grind.pair
    insist(actor, Action.DECIDE_REWORK, pair)
    workshop = find_workshop.the(session)
    rework = insist_it_can_be_made(session, faulty, today)
    structure = _suiting(session, workshop, faulty, again)
    booking = _booking(session, workshop, faulty, structure, again, reference, today, now)
    if not faulty.is_here:
        _bring_in(session, booking, now)
    session.add(booking)
    works = holds.works_with(workshop, booking.items, {})
    holds.hold(session, workshop, booking.items, works, booking.arrives_on, again.ready, today)
    if rework is None:
        rework = Rework(grind_id=grind_id, created_at=now, asked_words="")
        session.add(rework)
    _decide(rework, Case.MADE, actor, again.reason, now)
    rework.booking = booking
    bookings.record(
        booking, Event.REWORKS, actor, now, PAIR_AND_WORDS.format(pair=pair.title, words=again.reason)
    )
    _note(faulty, Event.REWORK_MADE, actor, now, reference)
    session.flush()  # The letters name the booking's number in their links.
    notices.tell(session, Kind.REWORK_MADE, booking.id, now)
    return booking


def set_days(session: Session, actor: Actor, days: int, now: datetime) -> None:
    """For how many days a grind is made good from now on; a shop manager decides."""
    if not actor.is_manager:
        raise NotAllowed
    find_workshop.the(session).rework_days = days
    audit.note(session, actor, Act.REWORK_DAYS_SET, now, words=Phrase(N_("%(days)s days"), {"days": days}))


def insist_it_waits(rework: Rework) -> None:
    """Pass as long as it waits for an answer."""
    if rework.standing is not Case.ASKED:
        raise NotNow(N_("This has been answered already."))


def insist_it_can_be_made(session: Session, faulty: Faulty, today: date) -> Rework | None:
    """What was asked for, if anything was; ``NotNow`` where the pair cannot be ground again now."""
    standing = find_reworks.standing_of(session, faulty.grind.id)
    if standing is not None and standing.standing is Case.MADE:
        raise NotNow(N_("This pair is ground again already."))
    # What was asked for in time may be answered later.
    refusal = why_not(session, faulty, today) if standing is None else _stands_against(session, faulty)
    if refusal is not None:
        raise NotNow(refusal)
    others = [
        booking
        for booking in find_bookings.of_pair(session, faulty.grind.pair_id)
        if booking.status.is_open
        and any(
            item.pair_id == faulty.grind.pair_id
            and item.stage is not Stage.HANDED_BACK
            and item.id != faulty.grind.item_id
            for item in booking.items
        )
    ]
    if others:
        raise NotNow(
            Phrase(
                N_("The pair is in another open booking already: %(reference)s."),
                {"reference": others[0].reference},
            )
        )
    return standing


def _suiting(session: Session, workshop: Workshop, faulty: Faulty, again: Again) -> Structure:
    """The structure to grind: one on offer, or the one that was ground."""
    same = again.structure_id == faulty.grind.structure_id
    structure = (find_structures.one if same else find_structures.current)(session, again.structure_id)
    if faulty.grind.pair.discipline not in find_structures.value(structure).disciplines:
        raise NotFound
    if bookings.base_too_thin(session, workshop, faulty.grind.pair, structure, again.flattening):
        raise NotNow(
            N_(
                "Another grind would take the base below the workshop's minimum. Do not grind this pair again; talk to its owner."
            )
        )
    return structure


def _booking(
    session: Session,
    workshop: Workshop,
    faulty: Faulty,
    structure: Structure,
    again: Again,
    reference: str,
    today: date,
    now: datetime,
) -> Booking:
    pair = faulty.grind.pair
    item = BookingItem(
        pair=pair,
        structure=structure,
        flattening=again.flattening,
        saturation=again.saturation,
        minutes=bookings.minutes_for(workshop, structure, again.flattening, again.saturation),
        stage=Stage.CHECKED_IN if faulty.is_here else Stage.AWAITED,
        checked_in_at=now if faulty.is_here else None,
        # Said, so that nobody asks the database for what a new item cannot have.
        commitments=[],
    )
    made = Booking(
        reference=reference,
        person_id=_whose(session, pair, faulty).id,
        club_id=pair.club_id,
        status=Status.CONFIRMED,
        hand_in_on=today if faulty.is_here else again.hand_in,
        ready_on=again.ready,
        note="",
        reason="",
        currency=workshop.currency,
        sequence=0,
        created_at=now,
        updated_at=now,
        items=[item],
        offers=[],
        events=[],
    )
    billing.charge(made, no_charge())
    return made


def _bring_in(session: Session, booking: Booking, now: datetime) -> None:
    """The pair comes again by the place that is offered first; ``NotNow`` where that takes nothing on the day."""
    place = places.chosen(session, None, None)
    places.insist_it_takes(session, place, booking.hand_in_on, now)
    booking.place_id = None if place is None else place.id
    booking.arrives_on = places.arrival(session, place, booking.hand_in_on)


def _whose(session: Session, pair: Pair, faulty: Faulty) -> Person:
    """Who gets the booking: the owner of today, or of a club whoever ordered, and else the first of its managers."""
    if pair.owner is not None:
        return pair.owner
    if pair.club_id is None:
        raise NotNow(N_("Nobody owns this pair any more. Whoever brings it in takes it on first."))
    managers = find_clubs.managers(session, pair.club_id)
    ordered = faulty.item.booking.person_id if faulty.item is not None else None
    chosen = next((one for one in managers if one.id == ordered), managers[0] if managers else None)
    if chosen is None and ordered is not None:
        return find_people.one(session, ordered)
    if chosen is None:
        raise NotNow(N_("Nobody manages the club of this pair any more. Invite a manager first."))
    return chosen


def _decide(rework: Rework, standing: Case, actor: Actor, reason: str, now: datetime) -> None:
    rework.standing, rework.reason = standing, reason
    rework.decided_by, rework.decided_at = actor.name, now


def _has_passed_on(faulty: Faulty) -> bool:
    """Whether the pair is no more whose it was when it was ordered: what its owner says and hears is no concern of theirs.

    It stands on the pair's own page.
    """
    if faulty.item is None:
        return False
    pair, booking = faulty.grind.pair, faulty.item.booking
    if booking.club_id is not None:
        return bool(pair.club_id != booking.club_id)
    return bool(pair.owner_id != booking.person_id)


def _note(faulty: Faulty, event: Event, actor: Actor, now: datetime, words: str) -> None:
    """Into the history of the booking that the grind was made for, where there is one."""
    if faulty.item is not None and not _has_passed_on(faulty):
        told = PAIR_AND_WORDS.format(pair=faulty.grind.pair.title, words=words)
        bookings.record(faulty.item.booking, event, actor, now, told, faulty.item)
