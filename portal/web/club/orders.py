"""The orders of a club: where each stands, what happens next, and the club's answer to a counter-offer."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain import agreed_bills
from portal.domain.bookings import STATUS_MOVES, Stage, Status
from portal.domain.change_rules import Change
from portal.domain.errors import NotNow
from portal.domain.words import N_
from portal.queries import bookings as find_bookings
from portal.queries import clubs as find_clubs
from portal.services import billing, booking_changes, booking_splits, bookings
from portal.web.amending import Way, add_page, can_add, change_page
from portal.web.answering import stopped_page
from portal.web.booking_history import entries, relatives
from portal.web.changing import agreed_fee, move_page, take_out_page, terms_now
from portal.web.club.blueprint import bp, refused
from portal.web.club.crate import pairs_shown
from portal.web.club.standing import order_of
from portal.web.confirmation import has_confirmation
from portal.web.language import say
from portal.web.noting import thread
from portal.web.order_papers import has_papers, sheet_words
from portal.web.receipts import money_of
from portal.web.request import actor, db, now, transaction
from portal.web.reworking import of_booking
from portal.web.splitting import split_page

SEE_ORDER = N_("See how the order stands")


def can_cancel(order: Any) -> bool:
    """Whether the club can still call it off: nothing has been handed in."""
    return Status.CANCELLED in STATUS_MOVES[order.status] and all(
        item.stage is Stage.AWAITED for item in order.items
    )


def _page(club_id: int, booking_id: int) -> str:
    return url_for("club.order", club_id=club_id, booking_id=booking_id)


@bp.get("/<int:club_id>/orders", endpoint="orders")
def all_orders(club_id: int) -> str:
    club = find_clubs.one(db(), actor(), club_id)
    found = find_bookings.of_club(db(), club_id)
    return render_template(
        "club/orders.html",
        club=club,
        open_orders=[order for order in found if order.status.is_open],
        past_orders=[order for order in found if not order.status.is_open],
        back_url=url_for("club.club", club_id=club_id),
    )


@bp.get("/<int:club_id>/orders/<int:booking_id>", endpoint="order")
def the_order(club_id: int, booking_id: int) -> str:
    order = order_of(club_id, booking_id)
    is_open = terms_now(order).is_open
    return render_template(
        "club/order.html",
        **pairs_shown(order),
        bill=billing.bill_of(order),
        money=money_of(order),
        has_confirmation=has_confirmation(order),
        offer=order.open_offer if order.status is Status.COUNTERED else None,
        can_cancel=is_open and can_cancel(order),
        can_move=is_open and booking_changes.may_move(actor(), order),
        can_add=can_add(order),
        can_split=is_open and booking_splits.may_split(actor(), order),
        terms=terms_now(order) if order.status is Status.CONFIRMED and can_cancel(order) else None,
        fees=agreed_bills.fees(billing.bill_of(order)),
        thread=thread(booking_id, url_for("club.note", club_id=club_id, booking_id=booking_id)),
        relatives=relatives(order, lambda number: _page(club_id, number)),
        rework=of_booking(db(), order, "club.order", club_id=club_id),
        history=entries(order),
        has_papers=has_papers(order),
        sheet=sheet_words(),
        back_url=url_for("club.orders", club_id=club_id),
    )


@bp.get("/<int:club_id>/orders/<int:booking_id>/sent")
def order_sent(club_id: int, booking_id: int) -> str:
    order = order_of(club_id, booking_id)
    return render_template(
        "club/order_sent.html", club=find_clubs.one(db(), actor(), club_id), order=order, who=actor()
    )


@bp.post("/<int:club_id>/orders/<int:booking_id>/offers/<int:offer_id>/accept")
def accept_offer(club_id: int, booking_id: int, offer_id: int) -> Response:
    order_of(club_id, booking_id)
    try:
        with transaction() as session:
            bookings.accept(session, actor(), booking_id, offer_id, now())
    except NotNow as error:
        return refused(error, _page(club_id, booking_id), SEE_ORDER)
    flash(say(N_("You accepted the offer. The order is confirmed.")))
    return redirect(_page(club_id, booking_id), 303)


@bp.route("/<int:club_id>/orders/<int:booking_id>/offers/<int:offer_id>/refuse", methods=["GET", "POST"])
def refuse_offer(club_id: int, booking_id: int, offer_id: int) -> str | Response:
    order = order_of(club_id, booking_id)
    if request.method == "GET":
        if order.open_offer is None or order.open_offer.id != offer_id:
            return redirect(_page(club_id, booking_id), 303)
        club = find_clubs.one(db(), actor(), club_id)
        return render_template(
            "club/refuse.html", club=club, order=order, back_url=_page(club_id, booking_id)
        )
    try:
        with transaction() as session:
            bookings.refuse(session, actor(), booking_id, offer_id, now())
    except NotNow as error:
        return refused(error, _page(club_id, booking_id), SEE_ORDER)
    flash(say(N_("You refused the offer. The order is cancelled, and nothing is held for the club.")))
    return redirect(_page(club_id, booking_id), 303)


@bp.route("/<int:club_id>/orders/<int:booking_id>/move", methods=["GET", "POST"])
def move_order(club_id: int, booking_id: int) -> str | Response:
    return move_page(order_of(club_id, booking_id), _page(club_id, booking_id))


@bp.route("/<int:club_id>/orders/<int:booking_id>/split", methods=["GET", "POST"])
def split_order(club_id: int, booking_id: int) -> str | Response:
    return split_page(order_of(club_id, booking_id), _page(club_id, booking_id))


def _way(order: Any) -> Way:
    return Way(
        _page(order.club_id, order.id),
        url_for("club.move_order", club_id=order.club_id, booking_id=order.id)
        if booking_changes.may_move(actor(), order)
        else None,
        url_for("club.order_pairs", club_id=order.club_id),
    )


@bp.route("/<int:club_id>/orders/<int:booking_id>/add", methods=["GET", "POST"])
def add_to_order(club_id: int, booking_id: int) -> str | Response:
    order = order_of(club_id, booking_id)
    return add_page(order, _way(order))


@bp.route("/<int:club_id>/orders/<int:booking_id>/pairs/<int:item_id>/change", methods=["GET", "POST"])
def change_in_order(club_id: int, booking_id: int, item_id: int) -> str | Response:
    order = order_of(club_id, booking_id)
    return change_page(order, item_id, _way(order))


@bp.route("/<int:club_id>/orders/<int:booking_id>/pairs/<int:item_id>/take-out", methods=["GET", "POST"])
def take_out_of_order(club_id: int, booking_id: int, item_id: int) -> str | Response:
    return take_out_page(order_of(club_id, booking_id), item_id, _page(club_id, booking_id))


@bp.route("/<int:club_id>/orders/<int:booking_id>/pairs/<int:item_id>/stopped", methods=["GET", "POST"])
def stopped(club_id: int, booking_id: int, item_id: int) -> str | Response:
    return stopped_page(order_of(club_id, booking_id), item_id, _page(club_id, booking_id))


@bp.route("/<int:club_id>/orders/<int:booking_id>/cancel", methods=["GET", "POST"])
def cancel_order(club_id: int, booking_id: int) -> str | Response:
    order = order_of(club_id, booking_id)
    if request.method == "GET":
        if not can_cancel(order) or not terms_now(order).is_open:
            return redirect(_page(club_id, booking_id), 303)
        return render_template(
            "club/cancel.html",
            club=find_clubs.one(db(), actor(), club_id),
            order=order,
            terms=terms_now(order),
            change=Change.CANCEL,
            back_url=_page(club_id, booking_id),
        )
    try:
        with transaction() as session:
            bookings.cancel(session, actor(), booking_id, now(), fee=agreed_fee())
    except NotNow as error:
        return refused(error, _page(club_id, booking_id), SEE_ORDER)
    flash(say(N_("The order is cancelled.")))
    return redirect(_page(club_id, booking_id), 303)
