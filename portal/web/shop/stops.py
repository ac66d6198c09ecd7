"""Work on a pair is stopped at the bench, and the answer of its owner is entered for them."""

from __future__ import annotations

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response
from wtforms import BooleanField

from portal.domain.bookings import Stage, advance
from portal.domain.reasons import Use
from portal.domain.words import N_, Phrase
from portal.queries import arrivals as find_arrivals
from portal.queries import bookings as find_bookings
from portal.services import stops
from portal.web.answering import stopped_page
from portal.web.language import say
from portal.web.request import actor, db, now, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.check_in import to_work_on
from portal.web.shop.reasons import ReasonForm
from portal.web.shop.refusals import leading_to_booking


class StopForm(ReasonForm):
    """Why the work does not go on, and whether its owner may have it done all the same."""

    may_go_on = BooleanField(N_("The owner may decide to have it ground as ordered all the same"))


@bp.route("/pairs/<int:item_id>/stop", methods=["GET", "POST"])
def stop(item_id: int) -> str | Response:
    item = to_work_on(item_id)
    booking_id, title = item.booking_id, item.pair.title
    form = StopForm.for_use(Use.STOP)
    is_right = form.is_sent_and_right()
    written = [(N_("Reason"), form.reason)] if is_right else []
    with leading_to_booking(booking_id, written):
        advance(item.stage, Stage.STOPPED)
    if is_right:
        with leading_to_booking(booking_id, written), transaction() as session:
            stops.stop(session, actor(), item_id, form.reason, now(), may_go_on=form.may_go_on.data)
        flash(
            say(
                Phrase(
                    N_("The work on %(pair)s is stopped, and a letter asks how it goes on."), {"pair": title}
                )
            )
        )
        return redirect(url_for("shop.booking", booking_id=booking_id), 303)
    return render_template(
        "shop/stop.html",
        form=form,
        item=item,
        check_in=find_arrivals.check_in_of(db(), item_id),
        back_url=url_for("shop.booking", booking_id=booking_id),
    )


@bp.route("/pairs/<int:item_id>/stopped", methods=["GET", "POST"])
def stopped(item_id: int) -> str | Response:
    item = to_work_on(item_id)
    booking = find_bookings.one(db(), actor(), item.booking_id)
    return stopped_page(booking, item_id, url_for("shop.booking", booking_id=booking.id), for_them=True)
