"""The counter-offer: another day, other structures, and why."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, cast

from flask import flash, make_response, redirect, render_template, request, url_for
from sqlalchemy.orm import Session
from werkzeug.wrappers import Response

from portal.domain.bookings import Status
from portal.domain.errors import NotFound
from portal.domain.planning.promise import NoRoom, Offer
from portal.domain.reasons import Use
from portal.domain.words import N_, Phrase
from portal.queries import catalogue as find_structures
from portal.queries import reasons as find_reasons
from portal.queries import workshop as find_workshop
from portal.services import bookings, holds
from portal.web.language import say
from portal.web.request import actor, db, now, today, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.bookings import to_decide
from portal.web.shop.counter_forms import WRITTEN, CounterForm, counter_form, structure_name
from portal.web.shop.refusals import leading_to_booking
from portal.web.shop.structures import choices_for

if TYPE_CHECKING:
    from portal.db.bookings import Booking, BookingItem
    from portal.db.catalogue import Structure


def asked_structures(booking: Booking) -> dict[int, int]:
    """What is held for each pair now: the last offer's structure, else what was asked for."""
    held = {item.id: item.structure_id for item in booking.items}
    if booking.open_offer is not None:
        held.update({change.item_id: change.structure_id for change in booking.open_offer.changes})
    return held


def days_to_offer(
    session: Session, booking: Booking, structures: dict[int, Structure], day: date
) -> tuple[Offer, ...]:
    """What can be promised for this booking, as if its own minutes were free, since an offer lets go of them first."""
    return holds.possible_days(session, booking, booking.items, structures, day)


def _structures(form: CounterForm, items: list[BookingItem], held: dict[int, int]) -> dict[int, Structure]:
    """The structure each pair would get: the one chosen on the page when it can be had, else the one held."""
    chosen = {}
    for item in items:
        text = form[structure_name(item.id)].data or ""
        try:
            chosen[item.id] = find_structures.one(db(), int(text))
        except (ValueError, NotFound):
            chosen[item.id] = find_structures.one(db(), held[item.id])
    return chosen


@bp.route("/bookings/<int:booking_id>/counter-offer", methods=["GET", "POST"], endpoint="counter")
def counter_offer(booking_id: int) -> str | Response:
    booking = to_decide(
        booking_id, Status.COUNTERED, [(label, request.form.get(name, "")) for name, label in WRITTEN.items()]
    )
    held = asked_structures(booking)
    kinds = counter_form(
        booking.items,
        {item.id: choices_for(db(), item.pair.discipline, item.structure) for item in booking.items},
    )
    form = kinds.posted(**{structure_name(item_id): str(held[item_id]) for item_id in held})
    form.expect(
        booking.ready_on,
        {item.id: item.structure_id for item in booking.items},
        booking.total,
        find_reasons.of(db(), Use.COUNTER),
    )
    # The page of a full stone sends everything back to be changed, not to be offered.
    if "again" not in request.form and form.is_sent_and_right():
        return _make(booking, form)
    possible = days_to_offer(db(), booking, _structures(form, booking.items, held), today())
    return render_template(
        "shop/counter.html",
        form=form,
        booking=booking,
        offers=[_as_choice(offer) for offer in possible],
        until=holds.held_from(find_workshop.the(db()), now()),
        structure_fields=[form[structure_name(item.id)] for item in booking.items],
        back_url=url_for("shop.booking", booking_id=booking_id),
    )


def _as_choice(offer: Offer) -> dict[str, object]:
    """A day for the list of days, with its free minutes as numbers."""
    told = Phrase(
        N_("%(free)s of %(all)s min free"), {"free": offer.minutes_free, "all": offer.minutes_available}
    )
    taken = offer.minutes_available - offer.minutes_free
    return {
        "value": offer.day.isoformat(),
        "day": offer.day,
        "load": round(100 * taken / offer.minutes_available),
        "told": told,
        "reason": offer.why_not,
    }


def _make(booking: Booking, form: CounterForm) -> Response:
    booking_id, ready = booking.id, cast(date, form.chosen_day)
    structures = {item.id: form.chosen_structure(item.id) for item in booking.items}
    # Asked before the writing begins: it reads, and a request that writes holds everybody else up.
    here = today()
    try:
        with (
            leading_to_booking(booking_id, [(label, form[name].data) for name, label in WRITTEN.items()]),
            transaction() as session,
        ):
            bookings.counter(
                session,
                actor(),
                booking_id,
                ready=ready,
                structures=structures,
                reason=form.told(form.day_listed, form.reason),
                structure_reason=form.told(form.structure_listed, form.structure_own),
                price=form.other_price,
                price_reason=form.told(form.price_listed, form.price_own),
                today=here,
                now=now(),
            )
    except NoRoom as full:
        sent = [
            (name, value)
            for name, value in request.form.items(multi=True)
            if name not in {"csrf_token", "ready"}
        ]
        values = {"asked": full.asked, "next_day": full.next_day, "sent": sent, "booking": booking}
        way_back = url_for("shop.booking", booking_id=booking_id)
        return make_response(render_template("shop/no_room.html", back_url=way_back, **values), 409)
    flash(say(N_("The offer is sent, and its time on the stone is held.")))
    return redirect(url_for("shop.booking", booking_id=booking_id), 303)
