"""Pairs go back to their owner: the last look, what is said about care, and who took them."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, request
from werkzeug.wrappers import Response
from wtforms import SelectMultipleField, StringField, TextAreaField

from portal.domain.access import Action, insist
from portal.domain.arrivals import CHECKS, Handback
from portal.domain.care import CareRule, CareStage, Known, care_for
from portal.domain.errors import NotFound, NotNow
from portal.domain.words import N_
from portal.queries import bookings as find_bookings
from portal.services import grinds
from portal.web import caring
from portal.web.forms import PortalForm, Problem, at_most, said, trimmed
from portal.web.language import speak
from portal.web.receipts import money_of
from portal.web.request import actor, db, now, row_number, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.check_in import back_url, day_asked
from portal.web.shop.check_in_form import NAME_LENGTH
from portal.web.shop.forms import REMARKS_LENGTH, choice
from portal.web.shop.refusals import leading_to_booking


class HandbackForm(PortalForm):
    """Several pairs of one booking at once; the view fills the choices."""

    pairs = SelectMultipleField(
        N_("Which pairs go back now?"),
        [said(N_("Choose at least one pair that goes back"))],
        validate_choice=False,
    )
    checks = SelectMultipleField(N_("The last look"), validate_choice=False)
    care = SelectMultipleField(N_("What you told them about care"), validate_choice=False)
    taken_by = StringField(
        N_("Who takes the skis?"),
        [said(N_("Enter the name of whoever takes the skis")), at_most(NAME_LENGTH)],
        filters=[trimmed],
    )
    remarks = TextAreaField(N_("Remarks"), [at_most(REMARKS_LENGTH)], filters=[trimmed])

    def validate_pairs(self, field: SelectMultipleField) -> None:
        known = {one[0] for one in field.iter_choices()}
        if not set(field.data or ()) <= known:
            raise Problem(N_("One of these pairs does not wait any more. Choose again"))

    def told(self) -> Handback:
        """What was entered, as a value; what is not in the lists is left out."""

        def known(field: SelectMultipleField) -> tuple[str, ...]:
            return tuple(str(one[0]) for one in field.iter_choices() if one[2])

        return Handback(
            taken_by=self.taken_by.data or "",
            checks=known(self.checks),
            care=known(self.care),
            remarks=self.remarks.data or "",
        )


def care_told(pairs: list[Any]) -> list[CareRule]:
    """The care rules after a grind that apply to one of these pairs, each once."""
    found: dict[str, CareRule] = {}
    given = caring.rules(db())
    for item in pairs:
        pair = item.pair
        known = Known(item.structure.family.key, pair.discipline, pair.grip)
        for rule in care_for(given, CareStage.AFTER_GRIND, known):
            found.setdefault(rule.key, rule)
    return list(found.values())


@bp.route("/bookings/<int:booking_id>/hand-back", methods=["GET", "POST"])
def hand_back(booking_id: int) -> str | Response:
    booking = find_bookings.one(db(), actor(), booking_id)
    insist(actor(), Action.WORK_ON_PAIR, booking)
    waiting = [item for item in booking.items if item.stage.is_waiting]
    form = _form(booking, waiting)
    written = [
        (N_("Who takes the skis?"), form.taken_by.data or ""),
        (N_("Remarks"), form.remarks.data or ""),
    ]
    if not waiting:
        with leading_to_booking(booking_id, written if request.method == "POST" else ()):
            raise NotNow(N_("No pair of this booking is ready to go back."))
    if form.is_sent_and_right():
        on_url, chosen = back_url(booking_id), {int(value) for value in form.pairs.data or ()}
        with leading_to_booking(booking_id, written), transaction() as session:
            grinds.hand_back_several(session, actor(), booking_id, chosen, now(), form.told())
        count = len(chosen)
        flash(
            speak().plural(N_("%(num)s pair is handed back."), N_("%(num)s pairs are handed back."), count)
            % {"num": count}
        )
        return redirect(on_url, 303)
    return render_template(
        "shop/hand_back.html",
        form=form,
        booking=booking,
        waiting={str(item.id): item for item in waiting},
        others=len(booking.items) - len(waiting),
        cautions=[rule.caution for rule in care_told(waiting) if rule.caution][:1],
        money=money_of(booking),
        care_when={rule.key: rule.condition for rule in care_told(waiting)},
        day=day_asked(),
        back_url=back_url(booking_id),
    )


def _form(booking: Any, waiting: list[Any]) -> HandbackForm:
    numbers = [str(item.id) for item in waiting]
    asked = row_number(request.args.get("item"))
    if asked is not None and asked not in {item.id for item in booking.items}:
        raise NotFound
    # Whoever came from one pair of a club's crate hands that one back; else all of them go together.
    first = [str(asked)] if asked is not None and booking.club_id is not None else numbers
    form = HandbackForm.posted(pairs=[number for number in first if number in numbers])
    form.pairs.choices = [choice(item.id, item.pair.title) for item in waiting]
    form.checks.choices = [choice(key, words) for key, words in CHECKS.items()]
    ground = [item for item in waiting if not item.unground]
    form.care.choices = [choice(rule.key, rule.advice) for rule in care_told(ground)]
    return form
