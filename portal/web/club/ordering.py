"""The way to an order: pairs, structures and extras on one page, then the day on which all of them are ready."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.planning.promise import Offer, first_possible
from portal.domain.prices import Item, price_or_none
from portal.domain.words import N_, Phrase
from portal.queries import age_classes as find_classes
from portal.queries import bookings as find_bookings
from portal.queries import clubs as find_clubs
from portal.queries import places as find_places
from portal.queries import workshop as find_workshop
from portal.services import bookings, drafts, order_parts, places
from portal.services.bookings import Wanted
from portal.web.club import draft as order_draft
from portal.web.club.answers import advised
from portal.web.club.blueprint import bp
from portal.web.club.forms import (
    DayForm,
    OrderForm,
    order_form,
    plain_name,
    structure_name,
    ticked_name,
)
from portal.web.club.order_defaults import Defaults, defaults
from portal.web.club.order_start import Offered, PlaceDays, classes_of, every_day, race_hints, start_of
from portal.web.hours import hours_on
from portal.web.language import say, speak
from portal.web.place_words import place_hint, place_name
from portal.web.request import actor, db, now, today, transaction


def make_form(
    pairs: Sequence[Any], offered: Offered, days: PlaceDays, shared: Defaults, data: dict[str, Any]
) -> OrderForm:
    choices = {
        discipline: [(str(row.id), f"{row.name} ({say(row.family.name)})") for row in rows.values()]
        for discipline, rows in offered.items()
    }
    all_days = every_day(days)
    open_at = hours_on(all_days)
    kind = order_form(
        pairs,
        choices,
        [
            (day.isoformat(), ", ".join(filter(None, (speak().date(day), open_at.get(day)))))
            for day in all_days
        ],
        [(places.key(place), place_name(place)) for place, _days in days],
        {places.key(place): frozenset(day.isoformat() for day in taken) for place, taken in days},
        shared,
    )
    return kind.posted(**data)


def place_days(club_id: int) -> PlaceDays:
    """Each place where the club can hand skis in, with its days."""
    return [(place, places.days(db(), place, now())) for place in find_places.offered(db(), club_id)]


def wanted_of(form: OrderForm) -> list[Wanted]:
    """What the form asks for, once it is right."""
    extras = {"flattening": bool(form.flattening.data), "saturation": bool(form.saturation.data)}
    none = {"flattening": False, "saturation": False}
    return [
        Wanted(
            pair_id,
            int(form.structure_for(pair_id)),
            **(none if form[plain_name(pair_id)].data else extras),
        )
        for pair_id in form.ticked()
    ]


def _bases_last(form: OrderForm, pairs: Sequence[Any], offered: Offered) -> bool:
    """Whether every base is thick enough for what is asked; says so at the pair where it is not."""
    workshop, by_id = find_workshop.the(db()), {pair.id: pair for pair in pairs}
    lasts = True
    for one in wanted_of(form):
        pair = by_id[one.pair_id]
        structure = offered[pair.discipline][one.structure_id]
        if bookings.base_too_thin(db(), workshop, pair, structure, one.flattening):
            words = N_("The base of %(pair)s is too thin for this. Leave it out, or talk to the workshop")
            field = form[ticked_name(pair.id)]
            field.errors = [*field.errors, Phrase(words, {"pair": pair.title})]
            lasts = False
    return lasts


@bp.route("/<int:club_id>/order", methods=["GET", "POST"], endpoint="order_pairs")
def choose_pairs(club_id: int) -> str | Response:
    club = find_clubs.one(db(), actor(), club_id)
    free, taken = order_draft.bookable(db(), club_id)
    days = place_days(club_id)
    back = url_for("club.club", club_id=club_id)
    if not free or not every_day(days):
        return render_template(
            "club/nothing_to_order.html",
            club=club,
            taken=taken,
            has_days=bool(every_day(days)),
            back_url=back,
        )
    offered = order_draft.structures(db())
    draft = order_draft.current(db(), actor(), club_id, today())
    classes, suits = classes_of(club_id, free), advised(db(), club_id, offered)
    # A class has a structure of its own where it has answers of its own.
    answered = find_classes.answers(db(), club_id)
    of = {number: one for number, one in classes.items() if one.id in answered}
    shared = defaults(free, of)
    start = start_of(club, free, shared, suits, classes, days, draft.form)
    form = make_form(free, offered, days, shared, start)
    if form.is_sent_and_right() and _bases_last(form, free, offered):
        with transaction() as session:
            kept = order_draft.stored(
                {field.name: field.data for field in form if field.data},
                wanted_of(form),
                date.fromisoformat(form["hand_in"].data),
                form["place"].data if len(days) > 1 else places.key(days[0][0]),
            )
            before = find_bookings.draft(session, actor(), club_id)
            if before is not None:
                kept = {
                    **{key: before.stored[key] for key in ("ready", "note") if key in before.stored},
                    **kept,
                }
            drafts.keep(session, actor(), club_id, kept, now())
        return redirect(url_for("club.order_day", club_id=club_id), 303)
    return render_template(
        "club/order_pairs.html",
        club=club,
        form=form,
        lost=draft.lost,
        taken=taken,
        rows=[
            (pair, form[ticked_name(pair.id)], form[structure_name(pair.id)], form[plain_name(pair.id)])
            for pair in free
        ],
        defaults=[(form[one.name], suits.get(one.group)) for one in shared.fields],
        classes=classes,
        races=race_hints(club_id, free, offered, suits, of),
        place_hints=[(place_name(place), place_hint(place)) for place, _days in days]
        if len(days) > 1
        else [],
        back_url=back,
    )


def offers_for_page(made: Sequence[Offer], express: frozenset[date] = frozenset()) -> list[dict[str, Any]]:
    """The days as the page draws them, marked where they cost ``express``."""
    return [
        {
            "value": offer.day.isoformat(),
            "day": offer.day,
            "reason": offer.why_not,
            "load": (load := round(100 * (1 - offer.minutes_free / max(1, offer.minutes_available)))),
            "told": Phrase(N_("%(load)s %% full, express"), {"load": load}) if offer.day in express else None,
        }
        for offer in made
    ]


@bp.route("/<int:club_id>/order/day", methods=["GET", "POST"])
def order_day(club_id: int) -> str | Response:
    club = find_clubs.one(db(), actor(), club_id)
    draft = order_draft.current(db(), actor(), club_id, today())
    back = url_for("club.order_pairs", club_id=club_id)
    if not draft.is_chosen or draft.arrival is None:
        return redirect(back, 303)
    made = bookings.possible_days(db(), draft.wanted, draft.arrival, today())
    if first_possible(made) is None:
        return render_template(
            "club/no_room.html",
            club=club,
            draft=draft,
            asked=None,
            next_day=None,
            at_most=order_parts.most_at_all(db(), draft.wanted, draft.arrival, today()),
            back_url=back,
        )
    asked = request.args.get("ready") or (draft.ready.isoformat() if draft.ready else None)
    form = DayForm.posted(ready=asked, note=draft.note)
    form.ready.choices = [(offer.day.isoformat(), "") for offer in made if offer.is_possible]
    if form.is_sent_and_right():
        with transaction() as session:
            row = find_bookings.draft(session, actor(), club_id)
            if row is not None:
                # One day for all pairs, whatever was chosen before.
                kept = {**row.stored, "early": None, "ready": form.ready.data, "note": form.note.data}
                drafts.keep(session, actor(), club_id, kept, now())
        return redirect(url_for("club.order_check", club_id=club_id), 303)
    return render_template(
        "club/order_day.html",
        club=club,
        form=form,
        draft=draft,
        offers=offers_for_page(made, draft.express),
        some_earlier=not made[0].is_possible,
        bill=order_draft.bill(db(), draft, club_id, today()),
        express_price=price_or_none(find_workshop.prices(db()), Item.EXPRESS, today())
        if draft.express
        else None,
        back_url=back,
    )


@bp.post("/<int:club_id>/order/drop")
def drop_order(club_id: int) -> Response:
    find_clubs.one(db(), actor(), club_id)
    with transaction() as session:
        drafts.drop(session, actor(), club_id)
    flash(say(N_("What you had chosen is forgotten.")))
    return redirect(url_for("club.club", club_id=club_id), 303)
