"""Prices, tax rates, savings of clubs, express and deposit: what a booking costs from which day on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, cast

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from portal.domain.prices import Item
from portal.domain.words import N_
from portal.queries import prices as find_prices
from portal.queries import workshop as find_workshop
from portal.services import prices
from portal.web.language import say
from portal.web.request import actor, db, now, today, transaction
from portal.web.shop.blueprint import bp, insist_on_manager
from portal.web.shop.money_forms import FromDayForm, PriceForm, RateForm, TermsForm, TierForm
from portal.web.shop.refusals import leading_to


@dataclass(frozen=True)
class Over:
    """What holds for an item: now, from days to come on (the nearest first), and until now (the newest first)."""

    item: Item
    now: Any
    coming: list[Any]
    past: list[Any]


def by_item(rows: Iterable[Any], here: date) -> list[Over]:
    """Prices or rates, by item, as seen on a day."""
    listed = sorted(rows, key=lambda row: row.valid_from, reverse=True)
    found = []
    for item in Item:
        mine = [row for row in listed if row.item is item]
        begun = [row for row in mine if row.valid_from <= here]
        coming = [row for row in reversed(mine) if row.valid_from > here]
        found.append(Over(item, begun[0] if begun else None, coming, begun[1:]))
    return found


def _asked(kind: type[FromDayForm]) -> Any:
    form = kind.posted(valid_from=today())
    form.earliest = today()
    return form


@bp.route("/prices", methods=["GET", "POST"], endpoint="prices")
def price_list() -> str | Response:
    insist_on_manager()
    form = _asked(PriceForm)
    if form.is_sent_and_right():
        item, first = Item(form.item.data), cast(date, form.valid_from.day)
        with leading_to(url_for("shop.prices"), N_("See the prices")), transaction() as session:
            prices.set_price(session, actor(), item, cast(Decimal, form.amount.amount), first, now())
        flash(say(N_("The price is set. Bookings that are made already keep theirs.")))
        return redirect(url_for("shop.prices"), 303)
    return render_template(
        "shop/prices.html",
        form=form,
        rows=by_item(find_prices.listed_prices(db()), today()),
        back_url=url_for("shop.hub"),
    )


@bp.post("/prices/<int:price_id>/withdraw")
def withdraw_price(price_id: int) -> Response:
    with leading_to(url_for("shop.prices"), N_("See the prices")), transaction() as session:
        prices.withdraw_price(session, actor(), price_id, now())
    flash(say(N_("The price is withdrawn.")))
    return redirect(url_for("shop.prices"), 303)


@bp.route("/tax", methods=["GET", "POST"])
def tax() -> str | Response:
    insist_on_manager()
    form = _asked(RateForm)
    if form.is_sent_and_right():
        item, first = Item(form.item.data), cast(date, form.valid_from.day)
        with leading_to(url_for("shop.tax"), N_("See the tax rates")), transaction() as session:
            prices.set_rate(session, actor(), item, cast(Decimal, form.percent.amount), first, now())
        flash(say(N_("The rate is set. Bookings that are made already keep theirs.")))
        return redirect(url_for("shop.tax"), 303)
    return render_template(
        "shop/tax.html",
        form=form,
        rows=by_item(find_prices.listed_rates(db()), today()),
        back_url=url_for("shop.hub"),
    )


@bp.post("/tax/<int:rate_id>/withdraw")
def withdraw_rate(rate_id: int) -> Response:
    with leading_to(url_for("shop.tax"), N_("See the tax rates")), transaction() as session:
        prices.withdraw_rate(session, actor(), rate_id, now())
    flash(say(N_("The rate is withdrawn.")))
    return redirect(url_for("shop.tax"), 303)


@bp.route("/club-savings", methods=["GET", "POST"])
def club_savings() -> str | Response:
    insist_on_manager()
    form = TierForm.posted()
    if form.is_sent_and_right():
        with transaction() as session:
            prices.set_tier(
                session,
                actor(),
                cast(int, form.from_pairs.number),
                cast(Decimal, form.percent.amount),
                now(),
            )
        flash(say(N_("The saving is set.")))
        return redirect(url_for("shop.club_savings"), 303)
    return render_template(
        "shop/club_savings.html", form=form, tiers=find_workshop.tiers(db()), back_url=url_for("shop.hub")
    )


@bp.route("/terms", methods=["GET", "POST"])
def terms() -> str | Response:
    insist_on_manager()
    here = find_workshop.the(db())
    form = TermsForm.posted(express_days=here.express_days, deposit_percent=here.deposit_percent)
    if form.is_sent_and_right():
        with transaction() as session:
            prices.set_terms(
                session,
                actor(),
                express_days=cast(int, form.express_days.number),
                deposit_percent=cast(int, form.deposit_percent.number),
                now=now(),
            )
        flash(say(N_("Express and deposit are set. Bookings that are made already keep theirs.")))
        return redirect(url_for("shop.terms"), 303)
    express = by_item(find_prices.listed_prices(db()), today())[list(Item).index(Item.EXPRESS)]
    return render_template("shop/terms.html", form=form, express=express.now, back_url=url_for("shop.hub"))
