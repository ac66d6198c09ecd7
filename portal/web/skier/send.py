"""The end of the way to a booking: checking what was chosen, sending it, and what happens next."""

from __future__ import annotations

import secrets
from typing import Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.errors import NotNow
from portal.domain.next_grind import Judgement
from portal.domain.payments import deposit_of
from portal.domain.planning.promise import NoRoom
from portal.domain.prices import Item
from portal.domain.words import N_
from portal.queries import bookings as find_bookings
from portal.queries import grinds as find_grinds
from portal.queries import workshop as find_workshop
from portal.services import bookings, drafts, holds, references
from portal.web import advising, next_grind
from portal.web.errors import page
from portal.web.language import say
from portal.web.request import actor, db, now, portal, today, transaction
from portal.web.skier import draft as drafting
from portal.web.skier.blueprint import bp
from portal.web.skier.book import current
from portal.web.skier.draft import Draft


@bp.get("/book/check")
def book_check() -> str | Response:
    draft = current()
    if draft.next_step() != url_for("skier.book_check"):
        return redirect(draft.next_step(), 303)
    bill = draft.bill(db(), today())
    return render_template(
        "skier/book_check.html",
        draft=draft,
        rows=[_row(draft, pair) for pair in draft.pairs],
        unmeasured=[pair for pair in draft.pairs if find_grinds.thinnest_now_um(db(), pair.id) is None],
        doubts=_doubts(draft),
        bill=bill,
        deposit=deposit_of(bill.total, find_workshop.the(db()).deposit_percent),
        mark=draft.mark(bill.total),
        back_url=url_for("skier.book_note"),
    )


def _doubts(draft: Draft) -> list[tuple[str, Judgement]]:
    """The pairs whose owner should think again before they send it, with the reasons."""
    found = []
    for pair in draft.pairs:
        advised = advising.for_pair(db(), portal().reference, pair)
        flattening = draft.work[pair.id].flattening
        worth = next_grind.of_work(db(), pair, draft.structures[pair.id], flattening, advised, today())
        if worth.worth.warns:
            found.append((pair.title, worth))
    return found


def _row(draft: Draft, pair: Any) -> tuple[Any, list[str], str]:
    """A pair with what is done to it, for the check page."""
    wanted = draft.work[pair.id]
    extras = [say(item.label) for item in Item if item in wanted.billed and item is not Item.GRIND]
    return pair, [draft.structures[pair.id].name, *extras], url_for("skier.book_work", pair_id=pair.id)


@bp.post("/book/send")
def book_send() -> Response:
    draft = drafting.load(db(), actor(), today(), is_sent=True)
    if draft.next_step() != url_for("skier.book_check") or draft.hand_in is None or draft.ready is None:
        return redirect(draft.next_step(), 303)
    if request.form.get("mark") != draft.mark(draft.bill(db(), today()).total):
        flash(say(N_("Something has changed since you checked it. Check it again.")))
        return redirect(url_for("skier.book_check"), 303)
    # Asked before the writing begins: it reads, and a request that writes holds everybody else up.
    here = today()
    try:
        with transaction() as session:
            made = bookings.request(
                session,
                actor(),
                draft.wanted,
                hand_in=draft.hand_in,
                ready=draft.ready,
                note=draft.note or "",
                reference=references.drawn(session, secrets.randbelow),
                today=here,
                now=now(),
                place_id=draft.place.id if draft.place is not None else None,
            )
            drafts.drop(session, actor(), None)
            booking_id = made.id
    except NoRoom as full:
        return _no_room(draft, full)
    except NotNow as refusal:
        return page(
            409,
            "409",
            reason=refusal.reason,
            on_url=url_for("skier.book"),
            on_label=N_("Look at what you have chosen"),
        )
    return redirect(url_for("skier.booking_sent", booking_id=booking_id), 303)


def _no_room(draft: Draft, full: NoRoom) -> Response:
    """The stone filled up while the form was open: the next day, and a button to take it."""
    template = "skier/no_room.html" if full.next_day is not None else "skier/full.html"
    html = render_template(
        template,
        draft=draft,
        asked=full.asked,
        next_day=full.next_day,
        until=holds.last_day(find_workshop.the(db()), today()),
        back_url=url_for("skier.book_ready"),
    )
    return Response(html, 409, mimetype="text/html")


@bp.get("/bookings/<int:booking_id>/sent")
def booking_sent(booking_id: int) -> str:
    booking = find_bookings.one(db(), actor(), booking_id)
    return render_template("skier/booking_sent.html", booking=booking, who=actor())
