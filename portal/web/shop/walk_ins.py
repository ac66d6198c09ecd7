"""Booking for somebody at the counter or on the telephone: find them or make them known, then one form, confirmed at once."""

from __future__ import annotations

import secrets
from datetime import date
from typing import TYPE_CHECKING, Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response
from wtforms import StringField
from wtforms.fields.choices import SelectChoice  # type: ignore[attr-defined]

from portal.domain.answers import Discipline
from portal.domain.errors import NotNow
from portal.domain.planning.promise import NoRoom
from portal.domain.prices import Bill
from portal.domain.words import N_, Phrase
from portal.queries import bookings as find_bookings
from portal.queries import catalogue as find_structures
from portal.queries import customers as find_customers
from portal.queries import pairs as find_pairs
from portal.queries import people as find_people
from portal.queries import workshop as find_workshop
from portal.services import billing, bookings, people, places, references, walk_ins
from portal.web.changing import near, shown_offers
from portal.web.forms import PortalForm, trimmed
from portal.web.language import say, speak
from portal.web.request import actor, db, now, today, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.forms import choice
from portal.web.shop.walk_in_forms import TakeForm, TakeForSomebodyNewForm, take_form

if TYPE_CHECKING:
    from portal.db.people import Person

# More pairs of one person than this stand on no page; the rest are found under their own.
MOST_PAIRS = 30


class FindPersonForm(PortalForm):
    """Whom to book for; read from the address."""

    words = StringField(N_("Name, e-mail address or telephone number"), filters=[trimmed])


@bp.get("/bookings/new")
def new_booking() -> str:
    form = FindPersonForm(formdata=request.args)
    words = form["words"].data or ""
    found = find_customers.found(db(), words) if words else []
    return render_template(
        "shop/new_booking.html",
        find=form,
        asked=words,
        people=found,
        is_cut=len(found) == find_customers.FOUND_AT_MOST,
        back_url=url_for("shop.requests"),
    )


@bp.route("/bookings/new/somebody", methods=["GET", "POST"])
def take_for_somebody_new() -> str | Response:
    return _take(None)


@bp.route("/bookings/new/<int:person_id>", methods=["GET", "POST"])
def take_for(person_id: int) -> str | Response:
    return _take(find_people.one(db(), person_id))


def _structures() -> dict[Discipline | None, list[Any]]:
    """What can be ground, by discipline; for a pair that is not known yet all of it, each with what it is for."""
    rows = find_structures.all_current(db())
    kinds = {row.id: find_structures.value(row).disciplines for row in rows}
    found: dict[Discipline | None, list[Any]] = {
        kind: [choice(row.id, row.name, row.family.name) for row in rows if kind in kinds[row.id]]
        for kind in Discipline
    }
    found[None] = [choice(row.id, _named(row.name, sorted(kinds[row.id])), row.family.name) for row in rows]
    return found


def _named(name: str, kinds: list[Discipline]) -> str:
    """A structure, with its discipline where only pairs of one can have it."""
    return name if len(kinds) > 1 else f"{name} ({say(kinds[0].label)})"


def _take(person: Person | None) -> str | Response:
    structures, here = _structures(), today()
    days_in = places.days(db(), places.chosen(db(), None, None), now())
    if not days_in or not structures[None]:
        raise NotNow(N_("Nothing can be booked: open days and put structures on offer first."))
    owned = find_pairs.of_person(db(), person.id) if person else []
    taken = set(find_bookings.open_with_pair(db(), [pair.id for pair in owned]))
    pairs = [pair for pair in owned if pair.id not in taken and structures[pair.discipline]][:MOST_PAIRS]
    kinds = take_form(pairs, structures, is_new=person is None)
    form = kinds.posted(phone=person.phone if person else "", name=request.args.get("name", ""))
    form.hand_in.choices = [SelectChoice(day.isoformat(), speak().date(day)) for day in days_in]
    wanted = form.wanted() or [form.work("new" if not pairs else pairs[0].id, 0)]
    shown = shown_offers(bookings.possible_days(db(), wanted, form.day_in, here))
    days = {one["value"]: one["day"] for one in shown if not one["reason"]}
    form.ready.choices = [SelectChoice(value, value) for value in days]
    same = _same_name(form)
    if "book" in request.form and form.is_sent_and_right():
        try:
            return _book(person.id if person else None, form, days[form.ready.data])
        except NoRoom:
            form.ready.errors = [N_("That day has filled up meanwhile. Choose another one")]
        except NotNow as refusal:
            _about(form, refusal).errors = [refusal.reason]
    return render_template(
        "shop/take_booking.html",
        form=form,
        person=person,
        pairs=pairs,
        taken=[pair for pair in owned if pair.id in taken],
        same=same,
        offers=near(shown, form.ready.data),
        count=len(shown),
        bill=_bill(form, days.get(form.ready.data)) if form.wanted() else None,
        back_url=url_for("shop.new_booking"),
    )


def _bill(form: TakeForm, ready: date | None) -> Bill:
    """What it will cost, express included once a ready day is chosen that is near enough for it."""
    here = today()
    near_days = billing.express_days(db(), find_workshop.the(db()), form.day_in, here)
    return billing.price(db(), form.wanted(), here, None, express=ready in near_days)


def _about(form: TakeForm, refusal: NotNow) -> Any:
    """The field that a refusal is shown at: the address that is taken, else what was chosen of pairs and work."""
    if refusal.reason.text == people.TAKEN:
        return form.email
    return form[f"take_{form.chosen[0]}"] if form.chosen else form.maker


def _same_name(form: TakeForm) -> list[find_customers.Customer]:
    """Those who are known by the name of somebody new."""
    if not isinstance(form, TakeForSomebodyNewForm) or not form.name.data or request.method == "GET":
        return []
    same = find_customers.named(db(), form.name.data)
    form.same_name = bool(same)
    return same


def _book(person_id: int | None, form: TakeForm, ready: Any) -> Response:
    # Asked before the writing begins: it reads, and a request that writes holds everybody else up.
    here, language = today(), speak().language
    email = form.email.address or None
    with transaction() as session:
        if person_id is None:
            name, phone = form["name"].data, form.phone.data or ""
            person_id = people.add(session, actor(), name, email, phone, language, now()).id
        else:
            people.keep_contact(session, actor(), person_id, email, form.phone.data or "", now())
        new_pair = (
            walk_ins.register_pair(session, actor(), person_id, form.facts, now()).id if form.has_new else 0
        )
        made = walk_ins.take(
            session,
            actor(),
            person_id,
            form.wanted(new_pair),
            hand_in=form.day_in,
            ready=ready,
            note=form.note.data or "",
            reference=references.drawn(session, secrets.randbelow),
            today=here,
            now=now(),
        )
        booking_id, reference = made.id, made.reference
    flash(
        say(
            Phrase(
                N_("Booking %(reference)s is confirmed. Print the slip, and the tags."),
                {"reference": reference},
            )
        )
    )
    return redirect(url_for("shop.booking", booking_id=booking_id), 303)
