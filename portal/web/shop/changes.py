"""What the workshop changes about an agreed booking, each with its reason: its day, its pairs, its parts, its end."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from portal.domain.access import Action, insist
from portal.domain.change_rules import NOTHING
from portal.domain.reasons import Use
from portal.domain.words import N_
from portal.queries import bookings as find_bookings
from portal.queries import crates as find_crates
from portal.services import bookings
from portal.web import changing
from portal.web.amending import Way, add_page
from portal.web.amounts import AmountField
from portal.web.language import say
from portal.web.request import actor, db, now, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.reasons import ReasonForm
from portal.web.shop.refusals import leading_to_booking
from portal.web.splitting import split_page

if TYPE_CHECKING:
    from portal.db.bookings import Booking

WRITTEN = N_("The reason you wrote")


class ChangeForm(ReasonForm):
    """Why, and what the skier pays for it; mostly nothing."""

    fee = AmountField(N_("Fee for the change"))


class MoveByWorkshopForm(ChangeForm, changing.MoveForm):
    """The same with another day."""


def _to_change(booking_id: int) -> Booking:
    booking = find_bookings.one(db(), actor(), booking_id)
    insist(actor(), Action.DECIDE_BOOKING, booking)
    return booking


def _page(booking_id: int) -> str:
    return url_for("shop.booking", booking_id=booking_id)


@bp.route("/bookings/<int:booking_id>/move", methods=["GET", "POST"])
def move_booking(booking_id: int) -> str | Response:
    found = _to_change(booking_id)
    return changing.move_page(found, _page(booking_id), MoveByWorkshopForm.for_use(Use.CHANGE))


@bp.route("/bookings/<int:booking_id>/pairs/<int:item_id>/take-out", methods=["GET", "POST"])
def take_out_of_booking(booking_id: int, item_id: int) -> str | Response:
    found = _to_change(booking_id)
    return changing.take_out_page(found, item_id, _page(booking_id), ChangeForm.for_use(Use.CHANGE))


@bp.route("/bookings/<int:booking_id>/add", methods=["GET", "POST"])
def add_to_booking(booking_id: int) -> str | Response:
    found = find_bookings.one(db(), actor(), booking_id)
    insist(actor(), Action.TAKE_BOOKING, found)
    unpacked = find_crates.open_of(db(), booking_id)
    # Whoever unpacks a crate goes on with it, and scans the pair once more.
    back = _page(booking_id) if unpacked is None else url_for("shop.crate", booking_id=booking_id)
    return add_page(found, Way(back))


@bp.route("/bookings/<int:booking_id>/split", methods=["GET", "POST"])
def split_booking(booking_id: int) -> str | Response:
    found = _to_change(booking_id)
    return split_page(found, _page(booking_id), MoveByWorkshopForm.for_use(Use.CHANGE))


@bp.route("/bookings/<int:booking_id>/cancel", methods=["GET", "POST"])
def cancel_booking(booking_id: int) -> str | Response:
    found = _to_change(booking_id)
    form = ChangeForm.for_use(Use.CHANGE)
    if form.is_sent_and_right():
        fee = form.fee.amount or NOTHING
        with leading_to_booking(booking_id, [(WRITTEN, form.reason)]), transaction() as session:
            bookings.cancel(session, actor(), booking_id, now(), reason=form.reason, fee=fee)
        flash(say(N_("The booking is cancelled, and a letter is on its way.")))
        return redirect(_page(booking_id), 303)
    return render_template("shop/cancel.html", form=form, booking=found, back_url=_page(booking_id))
