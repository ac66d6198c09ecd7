"""A club's crate is unpacked: one code after another, and the end of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flask import flash, jsonify, redirect, render_template, request, url_for
from werkzeug.wrappers import Response
from wtforms import StringField

from portal.domain.access import Action, insist
from portal.domain.crates import Outcome, Scanned
from portal.domain.errors import NotFound, NotNow
from portal.domain.tags import number_of, tag_of
from portal.domain.words import N_, Phrase
from portal.queries import bookings as find_bookings
from portal.queries import crates as find_crates
from portal.queries import pairs as find_pairs
from portal.services import crates
from portal.web.forms import PortalForm, trimmed
from portal.web.language import say
from portal.web.request import actor, db, now, row_number, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.camera import CameraForm
from portal.web.shop.crates_shown import NOTHING, CrateShown, Told, shown_crate, told_of
from portal.web.shop.refusals import leading_to, leading_to_booking
from portal.web.shop.run_acts import wants_data
from portal.web.shop.scan import MOST_SCANNED

if TYPE_CHECKING:
    from portal.db.bookings import Booking

SEE_CRATE = N_("See the crate")


class CodeForm(PortalForm):
    """A code that was scanned or typed, or that stands beside a pair in the list."""

    code = StringField(N_("Scan the next tag"), filters=[trimmed])


def order_of(booking_id: int) -> Booking:
    """The order of a club, for whoever works at the bench; ``NotFound`` for any other booking."""
    order = find_crates.order(db(), actor(), booking_id)
    insist(actor(), Action.WORK_ON_PAIR, order)
    return order


def page_of(booking_id: int, **asked: Any) -> str:
    """The address of the crate's page."""
    return url_for("shop.crate", booking_id=booking_id, **asked)


@bp.route("/crates/<int:booking_id>", methods=["GET", "POST"])
def crate(booking_id: int) -> str | Response:
    form = CodeForm.posted()
    code = form.code.data or ""
    if request.method == "GET":
        shown = shown_crate(order_of(booking_id))
        return _page(form, shown, _told_before(shown))
    if not code:
        return _unread(form, shown_crate(order_of(booking_id)))
    try:
        with leading_to_booking(booking_id, [(N_("The code you scanned"), code)]):
            scanned = unpack(booking_id, code)
    except NotNow as refusal:
        if not wants_data():
            raise
        answer = jsonify(told=say(refusal.reason))
        answer.status_code = 409
        return answer
    if wants_data():
        return _as_data(shown_crate(order_of(booking_id)), scanned, code)
    return redirect(page_of(booking_id, **_asked(scanned, code)), 303)


def unpack(booking_id: int, code: str) -> Scanned:
    """Whatever was scanned: a tag, the code of an order's list, or neither."""
    if len(code) > MOST_SCANNED:
        return Scanned(Outcome.UNKNOWN)
    try:
        pair_id = find_pairs.one(db(), actor(), number_of(code)).id
    except NotFound:
        return _list_of(code)
    with transaction() as session:
        return crates.scan(session, actor(), booking_id, pair_id, now())


def _list_of(code: str) -> Scanned:
    try:
        return Scanned(Outcome.LIST, booking_id=find_bookings.of_reference(db(), actor(), code).id)
    except NotFound:
        return Scanned(Outcome.UNKNOWN)


def _asked(scanned: Scanned, code: str) -> dict[str, Any]:
    """What the page is asked to tell of the scan, so that it can be opened again without doing anything again."""
    return {
        "was": scanned.outcome.value,
        "pair": scanned.pair_id,
        "item": scanned.item_id,
        "booking": scanned.booking_id,
        "code": code[:MOST_SCANNED] if scanned.outcome is Outcome.UNKNOWN else None,
    }


def _told_before(shown: CrateShown) -> Told | None:
    """What the scan before this page was, as far as it still can be told."""
    outcome = next((one for one in Outcome if one.value == request.args.get("was")), None)
    if outcome is None:
        return None
    pair_id, item_id, booking_id = (
        row_number(request.args.get(name)) for name in ("pair", "item", "booking")
    )
    of_pair = outcome not in {Outcome.UNKNOWN, Outcome.LIST}
    of_item = outcome in {Outcome.FOUND, Outcome.STOPPED}
    if (of_pair and pair_id is None) or (of_item and item_id not in {one.id for one in shown.order.items}):
        raise NotFound
    return told_of(Scanned(outcome, pair_id, item_id, booking_id), request.args.get("code", ""), shown)


def _page(form: CodeForm, shown: CrateShown, told: Told | None) -> str:
    return render_template(
        "shop/crate.html",
        form=form,
        shown=shown,
        told=told,
        back_url=url_for("shop.booking", booking_id=shown.order.id),
    )


def _unread(form: CodeForm, shown: CrateShown) -> str | Response:
    if wants_data():
        answer = jsonify(told=say(NOTHING))
        answer.status_code = 422
        return answer
    form.code.errors = [Phrase(NOTHING)]  # type: ignore[list-item]
    return _page(form, shown, None)


def _as_data(shown: CrateShown, scanned: Scanned, code: str) -> Response:
    return jsonify(
        told=render_template("shop/_crate_told.html", told=told_of(scanned, code, shown)),
        lists=render_template("shop/_crate_lists.html", shown=shown),
    )


@bp.route("/crates/<int:booking_id>/camera", methods=["GET", "POST"])
def crate_camera(booking_id: int) -> str | Response:
    """The same with the camera of a phone, which comes back to the camera after each tag."""
    order = order_of(booking_id)
    form = CameraForm.posted()
    if form.is_sent_and_right():
        pair_id, instead = form.scanned()
        if pair_id is not None:
            with leading_to_booking(booking_id), transaction() as session:
                scanned = crates.scan(session, actor(), booking_id, pair_id, now())
            return redirect(url_for("shop.crate_camera", booking_id=booking_id, **_asked(scanned, "")), 303)
        form.photo.errors = [instead]  # type: ignore[list-item]
    told, last = _told_before(shown_crate(order)), row_number(request.args.get("pair"))
    return render_template(
        "shop/camera.html",
        form=form,
        told=told,
        last=tag_of(last) if told is not None and last is not None else "",
        typing_url=page_of(booking_id),
        back_url=page_of(booking_id),
    )


@bp.route("/crates/<int:booking_id>/close", methods=["GET", "POST"])
def close_crate(booking_id: int) -> str | Response:
    order = order_of(booking_id)
    if request.method == "POST":
        with leading_to(page_of(booking_id), SEE_CRATE), transaction() as session:
            was_open = crates.close(session, actor(), booking_id, now())
        if was_open:
            flash(say(N_("The crate is closed, and the club is told by e-mail.")))
        return redirect(page_of(booking_id), 303)
    shown = shown_crate(order)
    if shown.crate is None:
        return redirect(page_of(booking_id), 303)
    return render_template(
        "shop/close_crate.html",
        shown=shown,
        summary=crates.summary(db(), order, shown.crate.extras),
        back_url=page_of(booking_id),
    )
