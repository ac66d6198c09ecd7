"""The drop-off slip of a booking, and the confirmation of a club's order."""

from __future__ import annotations

from flask import request
from werkzeug.wrappers import Response

from portal.documents.drop_off_slip import DropOffSlip, SlipLine, SlipPair, render
from portal.domain.errors import NotFound
from portal.domain.prices import Item
from portal.domain.tags import grouped, tag_of
from portal.queries import bookings as find_bookings
from portal.queries import workshop as find_workshop
from portal.services import billing
from portal.web.confirmation import confirmation_answer
from portal.web.language import speak
from portal.web.papers import fallback_fonts, letterhead, pdf
from portal.web.request import actor, db, today
from portal.web.shop.blueprint import bp

PAPERS = ("A4", "A5")


@bp.get("/bookings/<int:booking_id>/slip.pdf")
def slip(booking_id: int) -> Response:
    booking = find_bookings.one(db(), actor(), booking_id)
    paper = request.args.get("paper", PAPERS[0])
    if paper not in PAPERS or not booking.status.holds_capacity:
        raise NotFound
    person, bill = booking.person, billing.bill_of(booking)
    extras = {Item.FLATTENING: "flattening", Item.SATURATION: "saturation"}
    made = DropOffSlip(
        workshop=letterhead(find_workshop.the(db())),
        reference=booking.reference,
        customer=booking.club.name if booking.club else person.name,
        contact=tuple(filter(None, (person.name if booking.club else "", person.phone, person.email))),
        hand_in=booking.hand_in_on,
        ready=booking.ready_on,
        pairs=tuple(
            SlipPair(
                title=item.pair.title,
                mark=item.pair.mark,
                code=grouped(tag_of(item.pair_id)),
                work=(
                    item.structure.name,
                    *(extra.label for extra, name in extras.items() if getattr(item, name)),
                ),
            )
            for item in booking.items
        ),
        bill=tuple(
            SlipLine(line.label, line.count, speak().money(line.amount, booking.currency))
            for line in bill.lines
        ),
        total=speak().money(bill.total, booking.currency),
        note=booking.note,
        made_on=today(),
    )
    return pdf(
        render(made, speak(), paper=paper, fallback_fonts=fallback_fonts()), f"slip-{booking.reference}"
    )


@bp.get("/bookings/<int:booking_id>/confirmation.pdf")
def confirmation(booking_id: int) -> Response:
    return confirmation_answer(find_bookings.one(db(), actor(), booking_id))
