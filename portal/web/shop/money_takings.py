"""What was taken on a day, and which bookings are not paid yet."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

from flask import render_template, request, url_for
from werkzeug.wrappers import Response

from portal.documents.tables import Table
from portal.domain.errors import NotFound
from portal.domain.words import N_
from portal.queries import payments as find_payments
from portal.queries import workshop as find_workshop
from portal.web.exports import sent
from portal.web.language import called, say
from portal.web.request import db, today
from portal.web.shop.blueprint import bp
from portal.web.shop.bookings import LAST_PAGE
from portal.web.shop.day import day_of

ONE_DAY = dt.timedelta(days=1)
# Nothing was taken here before, and clocks of the first years are beyond what can be reckoned with.
FIRST_YEAR = 2000


def _span(day: dt.date) -> tuple[dt.datetime, dt.datetime]:
    """The day at the workshop, from midnight to midnight."""
    if day.year < FIRST_YEAR or day.year >= dt.date.max.year:
        raise NotFound
    zone = ZoneInfo(find_workshop.the(db()).timezone)
    midnight = dt.time()
    return dt.datetime.combine(day, midnight, zone), dt.datetime.combine(day + ONE_DAY, midnight, zone)


def _page() -> int:
    return min(max(1, request.args.get("page", 1, type=int)), LAST_PAGE)


@bp.get("/takings")
@bp.get("/takings/<date>")
def takings(date: str | None = None) -> str:
    here = today()
    shown = here if date is None else day_of(date)
    span = _span(shown)
    number = _page()
    sums = find_payments.takings(db(), *span)
    pages = -(-sum(one.count for one in sums) // find_payments.PAGE)

    def address(other: int) -> str:
        return url_for("shop.takings", date=shown.isoformat(), page=other)

    return render_template(
        "shop/takings.html",
        day=shown,
        is_today=shown == here,
        sums=sums,
        taxes=find_payments.taxes(db(), *span),
        rows=find_payments.taken(db(), *span, number),
        page=number,
        pages=pages,
        before=address(min(number - 1, pages)) if number > 1 else None,
        after=address(number + 1) if number < pages else None,
        day_before=shown - ONE_DAY if shown.year > FIRST_YEAR else None,
        day_after=shown + ONE_DAY if shown < here else None,
        back_url=url_for("shop.hub"),
    )


@bp.get("/takings/<date>/list.<kind>")
def export_takings(date: str, kind: str) -> Response:
    shown = day_of(date)
    rows = find_payments.taken(db(), *_span(shown), None)
    heads = (
        N_("Receipt"),
        N_("When"),
        N_("Booking"),
        N_("From"),
        N_("Kind"),
        N_("How"),
        N_("Amount"),
        N_("Currency"),
        N_("Taken by"),
        N_("Remark"),
    )
    table = Table(
        say(N_("Takings")),
        tuple(say(head) for head in heads),
        tuple(
            (
                row.receipt,
                row.at,
                row.booking.reference,
                row.booking.club.name if row.booking.club else called(row.booking.person.name),
                say(row.kind.label),
                say(row.method.label),
                row.signed,
                row.booking.currency,
                row.name,
                row.remark,
            )
            for row in rows
        ),
    )
    return sent(table, f"takings-{shown.isoformat()}", kind)


@bp.get("/open-balances")
def open_balances() -> str:
    number = _page()
    rows, total = find_payments.open_balances(db(), number)
    pages = -(-total // find_payments.PAGE)
    return render_template(
        "shop/open_balances.html",
        rows=rows,
        total=total,
        page=number,
        pages=pages,
        before=url_for("shop.open_balances", page=min(number - 1, pages)) if number > 1 else None,
        after=url_for("shop.open_balances", page=number + 1) if number < pages else None,
        back_url=url_for("shop.hub"),
    )


@bp.get("/open-balances/list.<kind>")
def export_open_balances(kind: str) -> Response:
    rows, _total = find_payments.open_balances(db(), None)
    heads = (
        N_("Booking"),
        N_("From"),
        N_("E-mail"),
        N_("Stands"),
        N_("Ready"),
        N_("Total"),
        N_("Paid"),
        N_("Still to pay"),
        N_("Currency"),
    )
    table = Table(
        say(N_("Open balances")),
        tuple(say(head) for head in heads),
        tuple(
            (
                row.booking.reference,
                row.booking.club.name if row.booking.club else called(row.booking.person.name),
                row.booking.person.email,
                say(row.booking.status.label),
                row.booking.ready_on,
                row.booking.total,
                row.paid,
                row.balance,
                row.booking.currency,
            )
            for row in rows
        ),
    )
    return sent(table, "open-balances", kind)
