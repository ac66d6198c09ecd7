"""A skier's bookings: where each stands, what happens next, and their answer to a counter-offer."""

from __future__ import annotations

from typing import Any

from flask import Response as Answer
from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain import agreed_bills
from portal.domain.access import Action, insist, may
from portal.domain.bookings import STATUS_MOVES, Stage, Status
from portal.domain.change_rules import Change
from portal.domain.errors import NotNow
from portal.domain.words import N_
from portal.queries import bookings as find_bookings
from portal.services import billing, booking_changes, booking_splits, bookings, calendars
from portal.web.amending import Way, add_page, can_add, can_change, change_page
from portal.web.answering import stopped_page
from portal.web.booking_history import entries, relatives
from portal.web.changing import agreed_fee, move_page, take_out_page, terms_now
from portal.web.errors import page
from portal.web.language import say
from portal.web.noting import thread
from portal.web.receipts import money_of
from portal.web.request import actor, db, now, transaction
from portal.web.reworking import of_booking
from portal.web.skier.blueprint import bp
from portal.web.skier.book import current
from portal.web.splitting import split_page
from portal.web.standing import STAGE_SHAPES, STATUS_SHAPES


@bp.get("/bookings", endpoint="bookings")
def all_bookings() -> str:
    found = find_bookings.of_person(db(), actor().person_id)
    draft = current()
    return render_template(
        "skier/bookings.html",
        open_ones=[booking for booking in found if booking.status.is_open],
        past=[booking for booking in found if not booking.status.is_open],
        draft=draft,
        shapes=STATUS_SHAPES,
    )


def _may_cancel(booking: Any) -> bool:
    return (
        may(actor(), Action.CHANGE_BOOKING, booking)
        and Status.CANCELLED in STATUS_MOVES[booking.status]
        and all(item.stage is Stage.AWAITED for item in booking.items)
        and terms_now(booking).is_open
    )


def _phase(stages: set[Stage]) -> str:
    """Whose turn it is in a confirmed booking: to answer, to hand in, to work, or to collect."""
    if Stage.STOPPED in stages:
        return "answer"
    if stages == {Stage.AWAITED}:
        return "hand_in"
    return "collect" if stages <= {Stage.GROUND, Stage.UNGROUND, Stage.HANDED_BACK} else "work"


@bp.get("/bookings/<int:booking_id>")
def booking(booking_id: int) -> str:
    found = find_bookings.one(db(), actor(), booking_id)
    changes = may(actor(), Action.CHANGE_BOOKING, found)
    offer = found.open_offer if found.status is Status.COUNTERED else None
    phase, is_open = _phase({item.stage for item in found.items}), terms_now(found).is_open
    return render_template(
        "skier/booking.html",
        booking=found,
        bill=billing.bill_of(found),
        money=money_of(found),
        offer=offer,
        offered={change.item_id: change.structure for change in offer.changes} if offer else {},
        can_answer=changes and offer is not None,
        # Whoever has an offer to answer ends the booking by refusing it.
        can_cancel=_may_cancel(found) and offer is None,
        can_move=changes and is_open and booking_changes.may_move(actor(), found),
        can_take_out=changes and is_open and booking_changes.may_take_out(actor(), found),
        can_add=changes and can_add(found),
        can_change=can_change(found),
        may_answer_stops=changes and found.status is Status.CONFIRMED,
        Stage=Stage,
        has_calendar=found.status in {Status.CONFIRMED, Status.COMPLETED},
        phase=phase,
        can_split=changes and is_open and booking_splits.may_split(actor(), found),
        terms=terms_now(found) if found.status is Status.CONFIRMED and "hand_in" in phase else None,
        fees=agreed_bills.fees(billing.bill_of(found)),
        thread=thread(booking_id, url_for("skier.note", booking_id=booking_id)) if changes else None,
        relatives=relatives(found, lambda number: url_for("skier.booking", booking_id=number)),
        rework=of_booking(db(), found, "skier.booking"),
        history=entries(found),
        shapes=STATUS_SHAPES,
        stage_shapes=STAGE_SHAPES,
        Status=Status,
        back_url=url_for("skier.bookings"),
    )


def _refused(booking_id: int, refusal: NotNow) -> Response:
    return page(
        409,
        "409",
        reason=refusal.reason,
        on_url=url_for("skier.booking", booking_id=booking_id),
        on_label=N_("See how the booking stands"),
    )


@bp.post("/bookings/<int:booking_id>/offers/<int:offer_id>/accept")
def accept(booking_id: int, offer_id: int) -> Response:
    try:
        with transaction() as session:
            bookings.accept(session, actor(), booking_id, offer_id, now())
    except NotNow as refusal:
        return _refused(booking_id, refusal)
    flash(say(N_("You accepted the offer. The booking is confirmed.")))
    return redirect(url_for("skier.booking", booking_id=booking_id), 303)


@bp.post("/bookings/<int:booking_id>/offers/<int:offer_id>/refuse")
def refuse(booking_id: int, offer_id: int) -> Response:
    try:
        with transaction() as session:
            bookings.refuse(session, actor(), booking_id, offer_id, now())
    except NotNow as refusal:
        return _refused(booking_id, refusal)
    flash(say(N_("You refused the offer. The booking is cancelled, and nothing is held for you.")))
    return redirect(url_for("skier.booking", booking_id=booking_id), 303)


@bp.route("/bookings/<int:booking_id>/cancel", methods=["GET", "POST"])
def cancel(booking_id: int) -> str | Response:
    if request.method == "POST":
        try:
            with transaction() as session:
                bookings.cancel(session, actor(), booking_id, now(), fee=agreed_fee())
        except NotNow as refusal:
            return _refused(booking_id, refusal)
        flash(say(N_("The booking is cancelled.")))
        return redirect(url_for("skier.booking", booking_id=booking_id), 303)
    found = find_bookings.one(db(), actor(), booking_id)
    insist(actor(), Action.CHANGE_BOOKING, found)
    if not _may_cancel(found):
        return redirect(url_for("skier.booking", booking_id=booking_id), 303)
    return render_template(
        "skier/cancel.html",
        booking=found,
        terms=terms_now(found),
        change=Change.CANCEL,
        back_url=url_for("skier.booking", booking_id=booking_id),
    )


@bp.route("/bookings/<int:booking_id>/move", methods=["GET", "POST"])
def move(booking_id: int) -> str | Response:
    found = find_bookings.one(db(), actor(), booking_id)
    insist(actor(), Action.CHANGE_BOOKING, found)
    return move_page(found, url_for("skier.booking", booking_id=booking_id))


def _way(found: Any) -> Way:
    may_move = booking_changes.may_move(actor(), found)
    return Way(
        url_for("skier.booking", booking_id=found.id),
        url_for("skier.move", booking_id=found.id) if may_move else None,
        url_for("skier.book"),
    )


@bp.route("/bookings/<int:booking_id>/add", methods=["GET", "POST"])
def add_pair(booking_id: int) -> str | Response:
    found = find_bookings.one(db(), actor(), booking_id)
    insist(actor(), Action.CHANGE_BOOKING, found)
    return add_page(found, _way(found))


@bp.route("/bookings/<int:booking_id>/pairs/<int:item_id>/change", methods=["GET", "POST"])
def change_pair(booking_id: int, item_id: int) -> str | Response:
    found = find_bookings.one(db(), actor(), booking_id)
    insist(actor(), Action.CHANGE_BOOKING, found)
    return change_page(found, item_id, _way(found))


@bp.route("/bookings/<int:booking_id>/pairs/<int:item_id>/take-out", methods=["GET", "POST"])
def take_out(booking_id: int, item_id: int) -> str | Response:
    found = find_bookings.one(db(), actor(), booking_id)
    insist(actor(), Action.CHANGE_BOOKING, found)
    return take_out_page(found, item_id, url_for("skier.booking", booking_id=booking_id))


@bp.route("/bookings/<int:booking_id>/split", methods=["GET", "POST"])
def split(booking_id: int) -> str | Response:
    found = find_bookings.one(db(), actor(), booking_id)
    insist(actor(), Action.CHANGE_BOOKING, found)
    return split_page(found, url_for("skier.booking", booking_id=booking_id))


@bp.route("/bookings/<int:booking_id>/pairs/<int:item_id>/stopped", methods=["GET", "POST"])
def stopped(booking_id: int, item_id: int) -> str | Response:
    found = find_bookings.one(db(), actor(), booking_id)
    insist(actor(), Action.CHANGE_BOOKING, found)
    return stopped_page(found, item_id, url_for("skier.booking", booking_id=booking_id))


@bp.get("/bookings/<int:booking_id>/ready.ics")
def booking_calendar(booking_id: int) -> Answer:
    found = find_bookings.one(db(), actor(), booking_id)
    entry = calendars.entry(db(), actor(), booking_id, now())
    return Answer(
        entry,
        mimetype="text/calendar",
        headers={"Content-Disposition": f'attachment; filename="{found.reference}.ics"'},
    )
