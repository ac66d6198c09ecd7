"""One booking and all of them, and the workshop's yes or no."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.access import Action, insist, may
from portal.domain.bookings import STATUS_MOVES, Stage, Status, move, next_stage
from portal.domain.reasons import Use
from portal.domain.words import N_
from portal.queries import booking_notes as find_notes
from portal.queries import bookings as find_bookings
from portal.queries import reworks as find_reworks
from portal.queries import workshop as find_workshop
from portal.services import billing, booking_changes, booking_splits, bookings, invoice_content
from portal.web.amending import can_add
from portal.web.booking_history import entries, relatives
from portal.web.confirmation import has_confirmation
from portal.web.language import say
from portal.web.noting import thread
from portal.web.receipts import money_of
from portal.web.request import actor, db, now, today, transaction
from portal.web.reworking import of_booking
from portal.web.shop.blueprint import bp
from portal.web.shop.forms import FindForm, choice
from portal.web.shop.notes import seen_now
from portal.web.shop.reasons import ReasonForm
from portal.web.shop.refusals import Written, leading_to_booking

if TYPE_CHECKING:
    from portal.db.bookings import Booking

# No list is this long; a larger number would not fit the database's own.
LAST_PAGE = 100_000


def to_decide(booking_id: int, to: Status, written: Written = ()) -> Booking:
    """The booking for a page that decides on it; refused for who may not and when it cannot go there any more."""
    booking = find_bookings.one(db(), actor(), booking_id)
    insist(actor(), Action.DECIDE_BOOKING, booking)
    with leading_to_booking(booking_id, written):
        move(booking.status, to)
    return booking


@bp.get("/bookings/<int:booking_id>")
def booking(booking_id: int) -> str:
    fresh = seen_now(booking_id)
    found = find_bookings.one(db(), actor(), booking_id)
    decides = may(actor(), Action.DECIDE_BOOKING, found)
    works = may(actor(), Action.WORK_ON_PAIR, found) and found.status is Status.CONFIRMED
    return render_template(
        "shop/booking.html",
        booking=found,
        bill=billing.bill_of(found),
        money=money_of(found),
        has_confirmation=has_confirmation(found),
        can_invoice=may(actor(), Action.ISSUE_INVOICE, found) and found.status in invoice_content.AGREED,
        titles={item.id: item.pair.title for item in found.items},
        can_confirm=decides and found.status is Status.REQUESTED and found.ready_on > today(),
        can_counter=decides and Status.COUNTERED in STATUS_MOVES[found.status],
        # What is only asked for is answered with an offer.
        can_move=decides and found.status is Status.CONFIRMED and booking_changes.may_move(actor(), found),
        can_add=can_add(found),
        can_take_out=decides and booking_changes.may_take_out(actor(), found),
        can_split=decides and booking_splits.may_split(actor(), found),
        can_cancel=decides
        and found.status in {Status.CONFIRMED, Status.COUNTERED}
        and all(item.stage is Stage.AWAITED for item in found.items),
        can_decline=decides and Status.DECLINED in STATUS_MOVES[found.status],
        steps={item.id: next_stage(item.stage) if works else None for item in found.items},
        history=entries(found),
        relatives=relatives(found, lambda number: url_for("shop.booking", booking_id=number)),
        thread=thread(booking_id, url_for("shop.note", booking_id=booking_id), fresh),
        rework=of_booking(db(), found, "shop.booking"),
        to_grind_again=find_reworks.within(db(), found, find_workshop.the(db()), today()),
        Stage=Stage,
        Status=Status,
        is_past=found.status is Status.REQUESTED and found.ready_on <= today(),
        back_url=url_for("shop.requests")
        if found.status in {Status.REQUESTED, Status.COUNTERED}
        else url_for("shop.bookings"),
    )


@bp.post("/bookings/<int:booking_id>/confirm")
def confirm(booking_id: int) -> Response:
    with leading_to_booking(booking_id), transaction() as session:
        bookings.confirm(session, actor(), booking_id, now())
    flash(say(N_("The booking is confirmed, and the skier is told by e-mail.")))
    return redirect(url_for("shop.booking", booking_id=booking_id), 303)


@bp.route("/bookings/<int:booking_id>/decline", methods=["GET", "POST"])
def decline(booking_id: int) -> str | Response:
    form = ReasonForm.for_use(Use.DECLINE)
    if form.is_sent_and_right():
        reason = form.reason
        with leading_to_booking(booking_id, [(N_("The reason you wrote"), reason)]), transaction() as session:
            bookings.decline(session, actor(), booking_id, reason, now())
        flash(say(N_("The request is declined, and the skier is told by e-mail.")))
        return redirect(url_for("shop.booking", booking_id=booking_id), 303)
    found = to_decide(booking_id, Status.DECLINED)
    return render_template(
        "shop/decline.html", form=form, booking=found, back_url=url_for("shop.booking", booking_id=booking_id)
    )


@bp.get("/bookings", endpoint="bookings")
def all_bookings() -> str:
    form = FindForm(formdata=request.args)
    form.status.choices = [
        choice("", N_("Any status")),
        *(choice(status.value, status.label) for status in Status),
    ]
    status = next((status for status in Status if status.value == form.status.data), None)
    number = min(max(1, request.args.get("page", 1, type=int)), LAST_PAGE)
    words = form.words.data or ""
    listed, total = find_bookings.page(db(), status, words, number)
    pages = -(-total // find_bookings.PAGE)

    def address(other: int) -> str:
        return url_for("shop.bookings", status=status or None, words=words or None, page=other)

    return render_template(
        "shop/bookings.html",
        find=form,
        listed=listed,
        total=total,
        noted=find_notes.unseen(db(), [booking.id for booking in listed]),
        is_filtered=status is not None or bool(words),
        page=number,
        pages=pages,
        before=address(min(number - 1, pages)) if number > 1 else None,
        after=address(number + 1) if number < pages else None,
    )
