"""Grinding a pair again: what was asked for, the job that makes a grind good, and the workshop's no."""

from __future__ import annotations

import secrets
from dataclasses import replace
from datetime import date
from typing import Any

from flask import flash, make_response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response
from wtforms import BooleanField, RadioField, SelectField, TextAreaField
from wtforms.fields.choices import SelectChoice  # type: ignore[attr-defined]

from portal.domain.access import Action, insist
from portal.domain.bookings import REFERENCES, reference_of
from portal.domain.planning.promise import NoRoom
from portal.domain.reasons import Use
from portal.domain.rework import DAYS, Case
from portal.domain.words import N_, Phrase
from portal.queries import catalogue as find_structures
from portal.queries import reworks as find_reworks
from portal.queries import workshop as find_workshop
from portal.queries.reworks import Faulty
from portal.services import places, reworks
from portal.services.reworks import Again
from portal.web.changing import near, shown_offers
from portal.web.forms import NumberField, PortalForm, Problem, at_most, said, trimmed
from portal.web.language import say, speak
from portal.web.request import actor, db, now, today, transaction
from portal.web.shop.blueprint import bp, insist_on_manager
from portal.web.shop.bookings import LAST_PAGE
from portal.web.shop.forms import choice
from portal.web.shop.reasons import LONGEST_REASON, ReasonForm
from portal.web.shop.refusals import leading_to
from portal.web.shop.structures import choices_for

SEE_PAIR = N_("See the pair")
WRITTEN = N_("The reason you wrote")


class AgainForm(ReasonForm):
    """What is done to make a grind good."""

    structure = SelectField(N_("Structure"), choices=[], validate_choice=False)
    flattening = BooleanField(N_("Base flattening"))
    saturation = BooleanField(N_("Hot-wax saturation"))
    hand_in = SelectField(N_("Handed in by"), choices=[], validate_choice=False)
    ready = RadioField(N_("Which day can the workshop promise?"), choices=[], validate_choice=False)

    def validate_structure(self, field: Any) -> None:
        _one_of(field, N_("Choose a structure from the list"))

    def validate_hand_in(self, field: Any) -> None:
        _one_of(field, N_("Choose a hand-in day from the list"))

    def validate_ready(self, field: Any) -> None:
        _one_of(field, N_("Choose the day on which it will be ready"))


class RefuseForm(PortalForm):
    """Why a grind is not made again."""

    reason = TextAreaField(
        N_("Why is the pair not ground again?"),
        [said(N_("Write the reason: the owner reads it")), at_most(LONGEST_REASON)],
        filters=[trimmed],
    )


class DaysForm(PortalForm):
    """For how long a grind is made good."""

    days = NumberField(N_("Days in which a grind is made good"), least=DAYS[0], most=DAYS[1], unit="days")

    def validate_days(self, field: NumberField) -> None:
        if field.number is None and not field.errors:
            raise Problem(N_("Enter a number from %(least)s to %(most)s"), least=DAYS[0], most=DAYS[1])


def _one_of(field: Any, text: str) -> None:
    if field.choices and not any(one.selected for one in field.iter_choices()):
        raise Problem(text)


@bp.route("/rework", methods=["GET", "POST"], endpoint="rework")
def all_reworks() -> str | Response:
    form = DaysForm.posted(days=find_workshop.the(db()).rework_days)
    if request.method == "POST":
        insist_on_manager()
    if form.is_sent_and_right() and form.days.number is not None:
        with transaction() as session:
            reworks.set_days(session, actor(), form.days.number, now())
        flash(say(Phrase(N_("A grind is made good within %(days)s days now."), {"days": form.days.number})))
        return redirect(url_for("shop.rework"), 303)
    standing = next((one for one in Case if one.value == request.args.get("standing")), None)
    number = min(max(1, request.args.get("page", 1, type=int)), LAST_PAGE)
    listed, total = find_reworks.page(db(), standing, number)
    pages = -(-total // find_reworks.PAGE)

    def address(page: int) -> str:
        return url_for("shop.rework", standing=standing or None, page=page)

    return render_template(
        "shop/rework.html",
        form=form,
        listed=listed,
        total=total,
        standing=standing,
        ways=[(one, url_for("shop.rework", standing=one.value)) for one in Case],
        first=find_reworks.first_bookings(db(), [one.grind.item_id for one in listed]),
        is_manager=actor().is_manager,
        Case=Case,
        page=number,
        pages=pages,
        before=address(min(number - 1, pages)) if number > 1 else None,
        after=address(number + 1) if number < pages else None,
        back_url=url_for("shop.hub"),
    )


@bp.route("/grinds/<int:grind_id>/again", methods=["GET", "POST"])
def grind_again(grind_id: int) -> str | Response:
    faulty = find_reworks.grind(db(), actor(), grind_id)
    insist(actor(), Action.DECIDE_REWORK, faulty.grind.pair)
    pair_url = url_for("shop.pair", pair_id=faulty.grind.pair_id)
    form = _form(faulty)
    status = 200
    if "look" not in request.form and form.is_sent_and_right():
        again, here = replace(_again(form, faulty), reason=form.reason), today()
        reference = reference_of(secrets.randbelow(REFERENCES))
        try:
            with leading_to(pair_url, SEE_PAIR, [(WRITTEN, again.reason)]), transaction() as session:
                made = reworks.make(
                    session, actor(), grind_id, again, reference=reference, today=here, now=now()
                ).id
        except NoRoom:
            form.ready.errors = [N_("That day has filled up meanwhile. Choose another one")]
            status = 409
        else:
            flash(say(N_("The pair is ground again: this is its booking, and its owner is told by e-mail.")))
            return redirect(url_for("shop.booking", booking_id=made), 303)
    elif request.method == "GET":
        with leading_to(pair_url, SEE_PAIR):
            reworks.insist_it_can_be_made(db(), faulty, today())
    answer = render_template(
        "shop/grind_again.html",
        form=form,
        faulty=faulty,
        grind=faulty.grind,
        asked=find_reworks.standing_of(db(), grind_id),
        offers=near(_offers(form, faulty), form.ready.data),
        back_url=pair_url,
    )
    return make_response(answer, status)


@bp.route("/rework/<int:rework_id>/refuse", methods=["GET", "POST"])
def refuse_rework(rework_id: int) -> str | Response:
    found = find_reworks.one(db(), rework_id)
    insist(actor(), Action.DECIDE_REWORK, found.grind.pair)
    form = RefuseForm.posted()
    written = [(N_("The reason you wrote"), form.reason.data or "")]
    pair_url = url_for("shop.pair", pair_id=found.grind.pair_id)
    if form.is_sent_and_right():
        with leading_to(pair_url, SEE_PAIR, written), transaction() as session:
            reworks.refuse(session, actor(), rework_id, form.reason.data or "", now())
        flash(say(N_("The answer is on its way to the owner.")))
        return redirect(url_for("shop.rework"), 303)
    with leading_to(pair_url, SEE_PAIR, written):
        reworks.insist_it_waits(found)
    return render_template(
        "shop/refuse_rework.html", form=form, rework=found, back_url=url_for("shop.rework")
    )


def _form(faulty: Faulty) -> AgainForm:
    days = places.days(db(), places.chosen(db(), None, None), now())
    form = AgainForm.for_use(
        Use.REWORK,
        structure=str(faulty.grind.structure_id),
        hand_in=days[0].isoformat() if days else "",
    )
    form.structure.choices = choices_for(db(), faulty.grind.pair.discipline, faulty.grind.structure)
    form.hand_in.choices = (
        [] if faulty.is_here else [choice(day.isoformat(), speak().date(day)) for day in days]
    )
    form.ready.choices = [
        SelectChoice(one["value"], one["value"]) for one in _offers(form, faulty) if not one["reason"]
    ]
    return form


def _again(form: AgainForm, faulty: Faulty) -> Again:
    """What the form says; what cannot be read is taken as it was before anything was chosen."""
    structures: Any = form.structure
    chosen = next((one.value for one in structures.iter_choices() if one.selected), None)
    return Again(
        int(chosen) if chosen else faulty.grind.structure_id,
        _as_day(form.hand_in.data),
        _as_day(form.ready.data),
        flattening=bool(form.flattening.data),
        saturation=bool(form.saturation.data),
    )


def _as_day(text: str | None) -> date:
    try:
        return date.fromisoformat(text or "")
    except ValueError:
        return today()


def _offers(form: AgainForm, faulty: Faulty) -> list[dict[str, Any]]:
    again = _again(form, faulty)
    structure = find_structures.one(db(), again.structure_id)
    return shown_offers(reworks.possible_days(db(), faulty, structure, again, today()))
