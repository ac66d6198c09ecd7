"""The end of the way to an order: checking what was chosen, and sending it."""

from __future__ import annotations

import secrets
from datetime import date
from typing import TYPE_CHECKING, Any

from flask import flash, make_response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.errors import NotNow
from portal.domain.payments import deposit_of
from portal.domain.planning.promise import NoRoom
from portal.domain.words import N_
from portal.queries import clubs as find_clubs
from portal.queries import grinds as find_grinds
from portal.queries import workshop as find_workshop
from portal.services import bookings, drafts, order_parts, references
from portal.web.club import draft as order_draft
from portal.web.club.blueprint import bp, refused
from portal.web.language import say
from portal.web.request import actor, db, now, today, transaction

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from portal.db.bookings import Booking


@bp.get("/<int:club_id>/order/check")
def order_check(club_id: int) -> str | Response:
    club = find_clubs.one(db(), actor(), club_id)
    draft = order_draft.current(db(), actor(), club_id, today())
    back = url_for("club.order_day", club_id=club_id)
    if not draft.is_chosen or draft.ready is None:
        return redirect(back, 303)
    bill = order_draft.bill(db(), draft, club_id, today())
    return render_template(
        "club/order_check.html",
        club=club,
        draft=draft,
        bill=bill,
        deposit=deposit_of(bill.total, find_workshop.the(db()).deposit_percent),
        mark=draft.mark(bill.total),
        unmeasured=[
            line.pair for line in draft.lines if find_grinds.thinnest_now_um(db(), line.pair.id) is None
        ],
        back_url=back,
    )


def _request(session: Session, draft: order_draft.Draft, club_id: int, here: date) -> Booking:
    """The order as it is chosen; of one in parts the first, which the other is parted from."""
    if draft.hand_in is None or draft.ready is None:
        raise ValueError("no days are chosen")
    given: dict[str, Any] = {
        "hand_in": draft.hand_in,
        "note": draft.note,
        "today": here,
        "now": now(),
        "club_id": club_id,
        "place_id": draft.place.id if draft.place is not None else None,
    }
    reference = references.drawn(session, secrets.randbelow)
    if draft.parts is None:
        return bookings.request(
            session, actor(), draft.wanted, ready=draft.ready, reference=reference, **given
        )
    other = references.drawn(session, secrets.randbelow)
    return order_parts.request(session, actor(), draft.parts, references=(reference, other), **given)[0]


@bp.post("/<int:club_id>/order/send")
def send_order(club_id: int) -> Response:
    club = find_clubs.one(db(), actor(), club_id)
    draft = order_draft.current(db(), actor(), club_id, today())
    if not draft.is_chosen or draft.hand_in is None or draft.ready is None:
        return redirect(url_for("club.order_day", club_id=club_id), 303)
    if request.form.get("mark") != draft.mark(order_draft.bill(db(), draft, club_id, today()).total):
        flash(say(N_("Something has changed since you checked it. Check it again.")))
        return redirect(url_for("club.order_check", club_id=club_id), 303)
    # Asked before the writing begins: it reads, and a request that writes holds everybody else up.
    here = today()
    try:
        with transaction() as session:
            booking_id = _request(session, draft, club_id, here).id
            drafts.drop(session, actor(), club_id)
    except NoRoom as full:
        html = render_template(
            "club/no_room.html",
            club=club,
            draft=draft,
            asked=full.asked,
            next_day=full.next_day,
            at_most=None,
            back_url=url_for("club.order_day", club_id=club_id),
        )
        return make_response(html, 409)
    except NotNow as error:
        back = url_for("club.order_pairs", club_id=club_id)
        return refused(error, back, N_("Look at what you have chosen"))
    return redirect(url_for("club.order_sent", club_id=club_id, booking_id=booking_id), 303)
