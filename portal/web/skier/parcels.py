"""Skis by post, for whoever ordered: how they are packed, the sheet that goes along, and the parcel on its way."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from portal.documents.address_sheet import AddressSheet, SentPair, render
from portal.domain.bookings import Status
from portal.domain.errors import NotFound, NotNow
from portal.domain.parcels import PACKING, PACKING_SAID
from portal.domain.tags import grouped, tag_of
from portal.domain.words import N_
from portal.queries import bookings as find_bookings
from portal.queries import parcels as find_parcels
from portal.queries import workshop as find_workshop
from portal.services import parcels
from portal.web.errors import page
from portal.web.language import say, speak
from portal.web.papers import fallback_fonts, pdf
from portal.web.parcel_form import ParcelForm
from portal.web.request import actor, db, now, portal, today, transaction
from portal.web.skier.blueprint import bp


def _by_post(booking_id: int) -> Any:
    booking = find_bookings.one(db(), actor(), booking_id)
    if not booking.returns_by_post:
        raise NotFound
    return booking


def _page_of(booking: Any) -> str:
    if booking.club_id is not None and booking.club_id in actor().clubs:
        return url_for("club.order", club_id=booking.club_id, booking_id=booking.id)
    return url_for("skier.booking", booking_id=booking.id)


@bp.route("/bookings/<int:booking_id>/parcel", methods=["GET", "POST"])
def parcel(booking_id: int) -> str | Response:
    booking = _by_post(booking_id)
    form = ParcelForm.asked(today())
    if form.is_sent_and_right():
        try:
            with transaction() as session:
                parcels.announce(session, actor(), booking_id, form.facts, now())
        except NotNow as refusal:
            label = N_("See how the booking stands")
            return page(409, "409", reason=refusal.reason, on_url=_page_of(booking), on_label=label)
        flash(say(N_("Thank you: the workshop knows that the parcel is on its way.")))
        return redirect(url_for("skier.parcel", booking_id=booking_id), 303)
    return render_template(
        "skier/parcel.html",
        form=form,
        booking=booking,
        can_send=booking.status is Status.CONFIRMED,
        packing=PACKING,
        packing_said=PACKING_SAID,
        parcels=find_parcels.of_booking(db(), booking_id),
        back_url=_page_of(booking),
    )


@bp.get("/bookings/<int:booking_id>/address-sheet.pdf")
def address_sheet(booking_id: int) -> Response:
    booking = _by_post(booking_id)
    here = find_workshop.the(db())
    address = booking.place.address if booking.place is not None and booking.place.address else here.address
    sheet = AddressSheet(
        workshop=here.name,
        address_lines=tuple(address.splitlines()),
        reach=tuple(filter(None, (here.phone, here.email))),
        reference=booking.reference,
        sender=booking.club.name if booking.club else booking.person.name,
        sender_reach=booking.person.email,
        by=speak().date(booking.arrives_on),
        pairs=tuple(
            SentPair(
                item.pair.title,
                grouped(tag_of(item.pair_id)),
                portal().settings.base_url + url_for("public.tag", code=tag_of(item.pair_id)),
            )
            for item in booking.items
        ),
        packing=PACKING,
        packing_said=PACKING_SAID,
    )
    made = render(sheet, speak(), fallback_fonts=fallback_fonts())
    return pdf(made, f"address-{booking.reference}")
