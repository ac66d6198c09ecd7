"""A pair more in a booking, or one of its pairs changed: choose, look at what it comes to, agree; the same pages for everybody."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.access import Action, may
from portal.domain.bookings import Stage
from portal.domain.errors import NotFound, NotNow
from portal.domain.planning.promise import NoRoom
from portal.domain.words import N_, Phrase
from portal.queries import catalogue as find_structures
from portal.queries import workshop as find_workshop
from portal.services import billing, booking_pairs, bookings
from portal.web.amend_form import PairWorkForm, pair_words, pair_work_form
from portal.web.amounts import posted_amount
from portal.web.changing import refused, terms_now
from portal.web.language import say
from portal.web.request import actor, db, now, today, transaction

if TYPE_CHECKING:
    from portal.db.bookings import Booking, BookingItem
    from portal.db.pairs import Pair

CANNOT = N_(
    "The pairs of this booking cannot be changed any more. Order by itself what is missing, or talk to the workshop."
)


@dataclass(frozen=True)
class Way:
    """Where the pages lead: back to the booking, and elsewhere when the stone is full up to its day."""

    back_url: str
    move_url: str | None = None
    alone_url: str | None = None


def can_add(booking: Booking) -> bool:
    """Whether the reader may add a pair to it today."""
    return booking_pairs.may_add(db(), actor(), booking) and _is_open(booking)


def can_change(booking: Booking) -> bool:
    """Whether the reader may change a pair of it today."""
    return booking_pairs.may_change(db(), actor(), booking) and _is_open(booking)


def _is_open(booking: Booking) -> bool:
    return terms_now(booking).is_open or not may(actor(), Action.CHANGE_BOOKING, booking)


def add_page(booking: Booking, way: Way) -> str | Response:
    """The pages that add a pair to a booking the reader may see."""
    if not can_add(booking):
        return refused(NotNow(CANNOT), way.back_url)
    pairs = booking_pairs.free_pairs(db(), booking)
    form = pair_work_form(booking, pairs, None)
    return _page(booking, None, pairs, form, way)


def change_page(booking: Booking, item_id: int, way: Way) -> str | Response:
    """The pages that put another pair in the place of one, or change its work."""
    item = next((one for one in booking.items if one.id == item_id), None)
    if item is None:
        raise NotFound
    if not can_change(booking) or item.stage is not Stage.AWAITED:
        return refused(NotNow(CANNOT), way.back_url)
    others = booking_pairs.free_pairs(db(), booking)
    pairs = [item.pair, *(pair for pair in others if pair.discipline is item.pair.discipline)]
    return _page(booking, item, pairs, pair_work_form(booking, pairs, item), way)


def _page(
    booking: Booking, item: BookingItem | None, pairs: Sequence[Pair], form: PairWorkForm, way: Way
) -> str | Response:
    if form.is_sent_and_right() and _suits(form, pairs):
        if "agreed" in request.form:
            return _act(booking, item, pairs, form, way)
        return _check(booking, item, pairs, form, way)
    return render_template(
        "booking/pair_choice.html",
        form=form,
        booking=booking,
        item=item,
        is_empty=not pairs,
        back_url=way.back_url,
    )


def _suits(form: PairWorkForm, pairs: Sequence[Pair]) -> bool:
    """Whether the structure can be ground on the pair and its base bears it; says so at the field where not."""
    pair = next(one for one in pairs if one.id == form.wanted.pair_id)
    structure = find_structures.one(db(), form.wanted.structure_id)
    try:
        bookings.insist_it_suits(db(), find_workshop.the(db()), pair, structure, form.wanted.flattening)
    except NotNow as refusal:
        form["structure"].errors = [refusal.reason]
        return False
    return True


def _check(
    booking: Booking, item: BookingItem | None, pairs: Sequence[Pair], form: PairWorkForm, way: Way
) -> str | Response:
    wanted, item_id = form.wanted, item.id if item else None
    if item is not None and wanted == booking_pairs.wanted_of(item):
        form["pair"].errors = [
            N_(
                "This is what was ordered for the pair. Choose another pair, another structure or other extras"
            )
        ]
        return render_template(
            "booking/pair_choice.html", form=form, booking=booking, item=item, back_url=way.back_url
        )
    if not booking.lapsed:
        first = booking_pairs.first_day(db(), booking, wanted, today(), item_id)
        if first is None or first > booking.ready_on:
            return _no_room(booking, form, first, way, 200)
    return render_template(
        "booking/pair_check.html",
        booking=booking,
        item=item,
        pair=next(pair for pair in pairs if pair.id == wanted.pair_id),
        structure=find_structures.one(db(), wanted.structure_id),
        wanted=wanted,
        bill=booking_pairs.bill_with(db(), booking, wanted, item_id),
        before=billing.bill_of(booking),
        is_theirs=may(actor(), Action.CHANGE_BOOKING, booking),
        again_url=_again(form),
        back_url=way.back_url,
    )


def _again(form: PairWorkForm) -> str:
    """The choice once more, as it was made."""
    ticked: dict[str, Any] = {name: 1 for name in ("flattening", "saturation") if form[name].data}
    return url_for(
        request.endpoint or "",
        pair=form.pair.data,
        structure=form.structure.data,
        **ticked,
        **(request.view_args or {}),
    )


def _no_room(booking: Booking, form: PairWorkForm, first: Any, way: Way, status: int) -> Response:
    html = render_template(
        "booking/pair_no_room.html",
        booking=booking,
        first=first,
        way=way,
        again_url=_again(form),
        back_url=way.back_url,
    )
    return Response(html, status, mimetype="text/html")


def _act(
    booking: Booking, item: BookingItem | None, pairs: Sequence[Pair], form: PairWorkForm, way: Way
) -> Response:
    # Asked before the writing begins: it reads, and a request that writes holds everybody else up.
    here, wanted, agreed = today(), form.wanted, posted_amount(request.form.get("agreed"))
    try:
        with transaction() as session:
            if item is None:
                booking_pairs.add_pair(
                    session, actor(), booking.id, wanted, today=here, now=now(), agreed=agreed
                )
            else:
                booking_pairs.change_pair(
                    session, actor(), booking.id, item.id, wanted, today=here, now=now(), agreed=agreed
                )
    except NoRoom as full:
        return _no_room(booking, form, full.next_day, way, 409)
    except NotNow as refusal:
        return refused(refusal, way.back_url)
    name = next(pair_words(pair) for pair in pairs if pair.id == wanted.pair_id)
    told = N_("%(pair)s is in it now, ready with the others.") if item is None else N_("%(pair)s is kept.")
    flash(say(Phrase(told, {"pair": name})))
    return redirect(way.back_url, 303)
