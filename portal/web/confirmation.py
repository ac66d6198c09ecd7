"""The confirmation of an order as paper, the same for the club and for the workshop."""

from __future__ import annotations

from typing import TYPE_CHECKING

from werkzeug.wrappers import Response

from portal.documents.order_confirmation import OrderConfirmation, OrderedPair, render
from portal.domain.bookings import Event, Status
from portal.domain.errors import NotFound
from portal.domain.prices import Item
from portal.domain.words import N_, Phrase
from portal.queries import workshop as find_workshop
from portal.services import billing
from portal.services.holds import day_at
from portal.web.language import called, speak
from portal.web.papers import fallback_fonts, letterhead, pdf
from portal.web.request import db, today

if TYPE_CHECKING:
    from portal.db.bookings import Booking, BookingItem

EXTRAS = {Item.FLATTENING: "flattening", Item.SATURATION: "saturation"}


def has_confirmation(booking: Booking) -> bool:
    """Whether there is something to confirm: a club's order that the workshop agreed to."""
    return booking.club_id is not None and booking.status in {Status.CONFIRMED, Status.COMPLETED}


def confirmation_answer(booking: Booking) -> Response:
    """The paper; not there before the workshop has agreed."""
    if not has_confirmation(booking) or booking.club is None:
        raise NotFound
    workshop = find_workshop.the(db())
    agreed_by = {Event.CONFIRMED, Event.ACCEPTED, Event.TAKEN_AT_DESK}
    moments = [event.at for event in booking.events if event.event in agreed_by]
    place = booking.place
    made = OrderConfirmation(
        workshop=letterhead(workshop),
        club=booking.club.name,
        reference=booking.reference,
        ordered_by=called(booking.person.name),
        standing=booking.status.label,
        confirmed_on=day_at(workshop, moments[-1]) if moments else None,
        place=(place.name, *place.address.splitlines()) if place else (N_("The workshop's counter"),),
        hand_in=booking.hand_in_on,
        arrives=booking.arrives_on,
        ready=booking.ready_on,
        pairs=tuple(_pair(item) for item in booking.items),
        bill=billing.bill_of(booking),
        currency=booking.currency,
        agreed=tuple(_agreed(booking)),
        note=booking.note,
        made_on=today(),
    )
    return pdf(render(made, speak(), fallback_fonts=fallback_fonts()), f"order-{booking.reference}")


def _pair(item: BookingItem) -> OrderedPair:
    extras = (extra.label for extra, name in EXTRAS.items() if getattr(item, name))
    whose = item.pair.junior.display_name if item.pair.junior else ""
    return OrderedPair(whose, item.pair.title, (item.structure.name, *extras))


def _agreed(booking: Booking) -> list[Phrase]:
    """What was agreed on besides work, days and price."""
    said = []
    if booking.deposit_percent:
        text = N_("A deposit of %(percent)s %% is due before the work begins.")
        said.append(Phrase(text, {"percent": booking.deposit_percent}))
    if booking.is_express:
        said.append(Phrase(N_("The ready day is near, which costs express for each pair.")))
    if booking.returns_by_post:
        said.append(Phrase(N_("The skis come back by post.")))
    for offer in booking.offers:
        if offer.accepted:
            reasons = (offer.reason, offer.structure_reason, offer.price_reason)
            text = N_("The workshop's offer of %(day)s was accepted. %(reason)s")
            day = day_at(find_workshop.the(db()), offer.made_at)
            said.append(Phrase(text, {"day": day, "reason": " ".join(filter(None, reasons)).strip()}))
    return said
