"""Asking for a grind, and the workshop's answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from sqlalchemy.orm import Session

from portal.db.bookings import Booking, BookingEvent, BookingItem, CounterOffer, OfferedStructure
from portal.db.catalogue import Structure
from portal.db.pairs import Pair
from portal.db.workshop import Workshop
from portal.domain import agreed_bills
from portal.domain.access import Action, Actor, insist, may
from portal.domain.base_life import would_pass_minimum
from portal.domain.bookings import Event, Stage, Status, move
from portal.domain.change_rules import NOTHING, Change
from portal.domain.errors import NotFound, NotNow
from portal.domain.planning.promise import NoRoom, Offer, offers
from portal.domain.planning.routes import Work, minutes_of
from portal.domain.prices import Bill, Item
from portal.domain.words import N_, Phrase
from portal.mail.messages import Kind
from portal.queries import bookings as find_bookings
from portal.queries import catalogue as find_structures
from portal.queries import days as find_days
from portal.queries import grinds as find_grinds
from portal.queries import pairs as find_pairs
from portal.queries import workshop as find_workshop
from portal.services import billing, change_terms, holds, notices, places
from portal.services.pairs import insist_it_is_clear


@dataclass(frozen=True)
class Wanted:
    """What is asked for one pair."""

    pair_id: int
    structure_id: int
    flattening: bool = False
    saturation: bool = False

    @property
    def billed(self) -> frozenset[Item]:
        return billing.items_of(self.flattening, self.saturation)


def minutes_for(workshop: Workshop, structure: Structure, flattening: bool, saturation: bool) -> int:
    """Bench minutes for one pair, its structure and its extras, without dressings."""
    return minutes_of(find_structures.work(workshop, structure, flattening=flattening, saturation=saturation))


def removal_for(workshop: Workshop, structure: Structure, flattening: bool) -> int:
    """Base that the grind is expected to cost, in whole micrometres: the structure's stated removal, and the flattening."""
    return find_structures.value(structure).removal_um + (workshop.flattening_um if flattening else 0)


def possible_days(
    session: Session, wanted: Sequence[Wanted], hand_in: date, today: date
) -> tuple[Offer, ...]:
    """Every workshop day after ``hand_in``, on which the skis are here, as far ahead as the workshop promises, with what can be promised on it."""
    workshop = find_workshop.the(session)
    rooms = find_days.rooms(session, hand_in, holds.last_day(workshop, today))
    return offers(works_of(session, workshop, wanted), rooms, hand_in)


def request(
    session: Session,
    actor: Actor,
    wanted: Sequence[Wanted],
    *,
    hand_in: date,
    ready: date,
    note: str,
    reference: str,
    today: date,
    now: datetime,
    club_id: int | None = None,
    place_id: int | None = None,
    orderer_id: int | None = None,
    asked: Bill | None = None,
    split_from: Booking | None = None,
) -> Booking:
    """Ask for a grind, handed in at a place (``place_id``; the counter when it is left out); from here on its minutes are held.

    Staff ask for somebody else, ``orderer_id`` (``walk_ins``). A part of an order (``order_parts``) brings its bill and the
    part before it.

    ``NoRoom`` with the next possible day when the stone is full; ``NotNow`` with the reason when a pair cannot be booked.
    """
    workshop = find_workshop.the(session)
    pairs = bookable_pairs(session, actor, wanted, club_id, orderer_id)
    structures = [find_structures.current(session, one.structure_id) for one in wanted]
    for one, pair, structure in zip(wanted, pairs, structures, strict=True):
        insist_it_suits(session, workshop, pair, structure, one.flattening)
    place = places.chosen(session, place_id, club_id)
    places.insist_it_takes(session, place, hand_in, now)
    arrival = places.arrival(session, place, hand_in)

    booking = Booking(
        reference=reference,
        person_id=orderer_id or actor.person_id,
        club_id=club_id,
        status=Status.REQUESTED,
        hand_in_on=hand_in,
        place=place,
        arrives_on=arrival,
        ready_on=ready,
        note=note,
        reason="",
        currency=workshop.currency,
        is_express=ready in billing.express_days(session, workshop, arrival, today),
        returns_by_post=places.value(place).returns_by_post,
        deposit_percent=workshop.deposit_percent,
        sequence=0,
        split_from=split_from,
        created_at=now,
        updated_at=now,
        items=[
            BookingItem(
                pair=pair,
                structure=structure,
                flattening=one.flattening,
                saturation=one.saturation,
                minutes=minutes_for(workshop, structure, one.flattening, one.saturation),
                stage=Stage.AWAITED,
                # Said, so that nobody asks the database for what a new item cannot have.
                commitments=[],
            )
            for one, pair, structure in zip(wanted, pairs, structures, strict=True)
        ],
        offers=[],
        events=[],
    )
    billing.charge(
        booking,
        asked
        if asked is not None
        else billing.price(
            session,
            wanted,
            today,
            club_id,
            express=booking.is_express,
            by_post=booking.returns_by_post,
        ),
    )
    holds.hold_until(workshop, booking, now)
    session.add(booking)
    works = holds.works_with(workshop, booking.items, {})
    holds.hold(session, workshop, booking.items, works, arrival, ready, today)
    # The letters name the booking's number in their links.
    if orderer_id is None:
        record(booking, Event.REQUESTED, actor, now)
        session.flush()
        notices.tell(session, Kind.REQUESTED, booking.id, now)
    return booking


def confirm(session: Session, actor: Actor, booking_id: int, now: datetime) -> None:
    """The workshop agrees to what was asked for."""
    booking = _to_decide(session, actor, booking_id)
    if booking.status is Status.COUNTERED:
        raise NotNow(N_("A counter-offer is waiting for the skier's answer."))
    if booking.ready_on <= holds.day_at(find_workshop.the(session), now):
        raise NotNow(N_("The day that was asked for is over. Offer another day."))
    if booking.lapsed:
        try:
            holds.hold_again(session, booking, booking.ready_on, {}, now)
        except NoRoom as full:
            raise NotNow(
                N_("The time on the stone was no longer held and is taken by now. Offer another day.")
            ) from full
    booking.status, booking.held_until = move(booking.status, Status.CONFIRMED), None
    booking.sequence += 1
    record(booking, Event.CONFIRMED, actor, now)
    notices.tell(session, Kind.CONFIRMED, booking.id, now)


def decline(session: Session, actor: Actor, booking_id: int, reason: str, now: datetime) -> None:
    """The workshop says no, and why; the minutes are free again."""
    booking = _to_decide(session, actor, booking_id)
    booking.status = move(booking.status, Status.DECLINED)
    booking.reason = reason
    holds.free(session, booking, booking.items)
    record(booking, Event.DECLINED, actor, now, reason)
    notices.tell(session, Kind.DECLINED, booking.id, now)


def counter(
    session: Session,
    actor: Actor,
    booking_id: int,
    *,
    ready: date,
    structures: Mapping[int, int],
    reason: str,
    today: date,
    now: datetime,
    structure_reason: str = "",
    price: Decimal | None = None,
    price_reason: str = "",
) -> None:
    """Offer another day, other structures (booking item id -> structure id) or another price for the whole.

    What is offered is held from now on instead of what was asked for, so that the skier can always accept it.
    """
    booking = _to_decide(session, actor, booking_id)
    status = move(booking.status, Status.COUNTERED)
    workshop = find_workshop.the(session)
    asked = booking.open_offer or booking
    changes = {
        item.id: find_structures.current(session, structures[item.id])
        for item in booking.items
        if structures.get(item.id, item.structure_id) != item.structure_id
    }
    if price == booking.total:
        price = None
    if not changes and price is None and ready == asked.ready_on and booking.status is Status.REQUESTED:
        raise NotNow(N_("This is what was asked for. Confirm it, or offer another day, structure or price."))
    for item in booking.items:
        if item.id in changes:
            insist_it_suits(session, workshop, item.pair, changes[item.id], item.flattening)
    works = holds.works_with(workshop, booking.items, changes)
    if booking.open_offer is not None:
        booking.open_offer.answered_at, booking.open_offer.accepted = now, False
    # A hand-in day that has passed cannot be kept: nothing is placed on days that are over.
    booking.hand_in_on, booking.arrives_on = max(booking.hand_in_on, today), max(booking.arrives_on, today)
    holds.hold(session, workshop, booking.items, works, booking.arrives_on, ready, today)
    holds.hold_until(workshop, booking, now)
    booking.status = status
    booking.offers.append(
        CounterOffer(
            made_by_id=actor.person_id,
            made_at=now,
            ready_on=ready,
            reason=reason,
            structure_reason=structure_reason if changes else "",
            price=price,
            price_reason="" if price is None else price_reason,
            changes=[
                OfferedStructure(item_id=item_id, structure=structure)
                for item_id, structure in changes.items()
            ],
        )
    )
    offer = booking.offers[-1]
    told = filter(None, (offer.reason, offer.structure_reason, offer.price_reason))
    record(booking, Event.COUNTERED, actor, now, "\n".join(told))
    # The letter reads the offer back.
    session.flush()
    notices.tell(session, Kind.COUNTERED, booking.id, now)


def accept(session: Session, actor: Actor, booking_id: int, offer_id: int, now: datetime) -> None:
    """The skier takes the counter-offer; the booking is confirmed as offered."""
    booking, offer = _to_answer(session, actor, booking_id, offer_id)
    workshop = find_workshop.the(session)
    if offer.ready_on <= holds.day_at(workshop, now):
        raise NotNow(N_("The offered day is over. Ask the workshop for another, or refuse the offer."))
    changed = {change.item_id: change.structure for change in offer.changes}
    if booking.lapsed:
        try:
            holds.hold_again(session, booking, offer.ready_on, changed, now)
        except NoRoom as full:
            raise NotNow(
                N_(
                    "The offered time was no longer held and is taken by now. Ask the workshop for another day, or refuse the offer."
                )
            ) from full
    offer.answered_at, offer.accepted = now, True
    booking.status, booking.held_until = move(booking.status, Status.CONFIRMED), None
    booking.ready_on = offer.ready_on
    for item in booking.items:
        if item.id in changed:
            item.structure = changed[item.id]
            item.minutes = minutes_for(workshop, item.structure, item.flattening, item.saturation)
    booking.sequence += 1
    record(booking, Event.ACCEPTED, actor, now)
    billing.drop_express(session, workshop, booking)
    if offer.price is not None:
        billing.rebill(booking, agreed_bills.agreed(billing.bill_of(booking), offer.price))
    session.flush()  # The letters read the new day and structures back.
    notices.tell(session, Kind.ACCEPTED, booking.id, now)
    notices.tell(session, Kind.CONFIRMED, booking.id, now)


def refuse(session: Session, actor: Actor, booking_id: int, offer_id: int, now: datetime) -> None:
    """The skier does not take the counter-offer; the booking ends and its minutes are free again."""
    booking, offer = _to_answer(session, actor, booking_id, offer_id)
    offer.answered_at, offer.accepted = now, False
    booking.status = move(booking.status, Status.CANCELLED)
    holds.free(session, booking, booking.items)
    record(booking, Event.REFUSED, actor, now)
    billing.rebill(booking, agreed_bills.fees(billing.bill_of(booking)))
    notices.tell(session, Kind.REFUSED, booking.id, now)


def cancel(
    session: Session,
    actor: Actor,
    booking_id: int,
    now: datetime,
    *,
    reason: str = "",
    fee: Decimal = NOTHING,
) -> None:
    """Call it off, as long as no pair has been handed in; what is left of the bill are the fees.

    ``fee`` is what the skier agreed to by the workshop's rules, or what the workshop asks for, with its ``reason``.
    """
    booking = find_bookings.locked(session, actor, booking_id)
    by_workshop = not may(actor, Action.CHANGE_BOOKING, booking)
    if by_workshop:
        insist(actor, Action.DECIDE_BOOKING, booking)
        if booking.status is Status.REQUESTED:
            raise NotNow(N_("Nobody has agreed to this request yet. Decline it, with the reason."))
    if any(item.stage is not Stage.AWAITED for item in booking.items):
        raise NotNow(
            N_("A pair of this booking is at the workshop already. Talk to the workshop to change it.")
        )
    workshop = find_workshop.the(session)
    here = holds.day_at(workshop, now)
    fee = change_terms.insist_on_terms(actor, workshop, booking, Change.CANCEL, fee, here)
    was_confirmed = booking.status is Status.CONFIRMED
    booking.status = move(booking.status, Status.CANCELLED)
    if booking.open_offer is not None:
        booking.open_offer.answered_at, booking.open_offer.accepted = now, False
    holds.free(session, booking, booking.items)
    booking.sequence += was_confirmed
    record(booking, Event.CANCELLED, actor, now, reason)
    billing.rebill(
        booking, agreed_bills.fees(agreed_bills.with_fee(billing.bill_of(booking), Change.CANCEL, fee))
    )
    kind = Kind.CANCELLED_CONFIRMED if was_confirmed else Kind.CANCELLED
    notices.tell(session, Kind.CANCELLED_BY_WORKSHOP if by_workshop else kind, booking.id, now)


def lapse(session: Session, now: datetime) -> bool:
    """Give back what was held too long for one request or offer without an answer; whether there was one.

    It stays open: whoever answers later gets the time again if it is still there. One at a time and its transaction ended
    after each, so that days are always locked in order.
    """
    booking = find_bookings.held_too_long(session, now)
    if booking is None:
        return False
    holds.free(session, booking, booking.items)
    booking.lapsed = True
    booking.updated_at = now
    booking.events.append(BookingEvent(event=Event.LAPSED, person_id=None, at=now, words="", item_id=None))
    session.flush()  # The letters read the booking back.
    notices.tell(session, Kind.LAPSED, booking.id, now)
    return True


def record(
    booking: Booking,
    event: Event,
    actor: Actor,
    now: datetime,
    words: str = "",
    item: BookingItem | None = None,
) -> None:
    """Write into the booking's history who did what when."""
    booking.updated_at = now
    booking.events.append(
        BookingEvent(
            event=event, person_id=actor.person_id, at=now, words=words, item_id=item.id if item else None
        )
    )


def works_of(session: Session, workshop: Workshop, wanted: Sequence[Wanted]) -> list[Work]:
    """The steps of each pair that is asked for."""
    structures = {
        number: find_structures.current(session, number) for number in {one.structure_id for one in wanted}
    }
    return [
        find_structures.work(
            workshop, structures[one.structure_id], flattening=one.flattening, saturation=one.saturation
        )
        for one in wanted
    ]


def bookable_pairs(
    session: Session,
    actor: Actor,
    wanted: Sequence[Wanted],
    club_id: int | None,
    orderer_id: int | None,
) -> list[Pair]:
    """The pairs, locked so that one pair cannot get into two bookings at once: the club's, else the ``orderer_id``'s.

    Staff book for the orderer or the club, everybody else for themselves. ``NotNow`` with the reason when one cannot be booked.
    """
    ids = [one.pair_id for one in wanted]
    if not ids or len(set(ids)) != len(ids):
        raise NotNow(N_("Choose each pair once, and at least one."))
    find_pairs.lock(session, ids)
    pairs = [find_pairs.one(session, actor, pair_id) for pair_id in ids]
    for pair in pairs:
        insist(actor, Action.BOOK_PAIR if orderer_id is None else Action.TAKE_BOOKING, pair)
        is_orderers = club_id is not None or orderer_id in {None, pair.owner_id}
        if pair.club_id != club_id or not is_orderers:
            raise NotFound
        insist_it_is_clear(pair)
        if pair.archived_at is not None:
            raise NotNow(
                Phrase(N_("%(pair)s is archived. Bring it back before you book it."), {"pair": pair.title})
            )
    taken = set(find_bookings.open_with_pair(session, ids))
    for pair in pairs:
        if pair.id in taken:
            raise NotNow(Phrase(N_("%(pair)s is in another open booking already."), {"pair": pair.title}))
    return pairs


def insist_it_suits(
    session: Session, workshop: Workshop, pair: Pair, structure: Structure, flattening: bool
) -> None:
    """``NotNow`` for a structure of the other discipline and for a base that would become too thin."""
    value = find_structures.value(structure)
    if pair.discipline not in value.disciplines:
        raise NotNow(
            Phrase(
                N_(
                    "%(structure)s is not ground on a pair for %(discipline)s. Choose another structure for %(pair)s."
                ),
                {
                    "structure": structure.name,
                    "discipline": Phrase(pair.discipline.label),
                    "pair": pair.title,
                },
            )
        )
    if base_too_thin(session, workshop, pair, structure, flattening):
        raise NotNow(
            Phrase(
                N_(
                    "The base of %(pair)s is too thin for this work. Talk to the workshop about what is still possible."
                ),
                {"pair": pair.title},
            )
        )


def base_too_thin(
    session: Session, workshop: Workshop, pair: Pair, structure: Structure, flattening: bool
) -> bool:
    """Whether the grind would take the measured base below the workshop's minimum; an unmeasured base never is."""
    thinnest = find_grinds.thinnest_now_um(session, pair.id)
    return thinnest is not None and would_pass_minimum(
        thinnest, workshop.minimum_um, removal_for(workshop, structure, flattening)
    )


def _to_decide(session: Session, actor: Actor, booking_id: int) -> Booking:
    booking = find_bookings.locked(session, actor, booking_id)
    insist(actor, Action.DECIDE_BOOKING, booking)
    return booking


def _to_answer(
    session: Session, actor: Actor, booking_id: int, offer_id: int
) -> tuple[Booking, CounterOffer]:
    booking = find_bookings.locked(session, actor, booking_id)
    insist(actor, Action.CHANGE_BOOKING, booking)
    offer = booking.open_offer
    if booking.status is not Status.COUNTERED or offer is None or offer.id != offer_id:
        raise NotNow(N_("This offer is no longer open. Look at the booking again."))
    return booking, offer
