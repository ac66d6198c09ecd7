"""Erasing somebody who asks for it and cannot sign in, such as a customer of the counter."""

from __future__ import annotations

from flask import flash, redirect, url_for
from werkzeug.wrappers import Response

from portal.domain.errors import NotNow
from portal.domain.leaving import Way
from portal.domain.words import N_
from portal.services import erasing
from portal.web.erasing import EraseForm, Ways, erase_page
from portal.web.language import say
from portal.web.request import actor, db, insist_on_fresh_sign_in, now, transaction
from portal.web.shop.blueprint import bp, insist_on_manager
from portal.web.shop.refusals import leading_to

WAYS: Ways = {
    Way.CLUB: lambda _number: url_for("shop.clubs"),
    Way.BOOKING: lambda number: url_for("shop.booking", booking_id=number),
    Way.PAIR: lambda number: url_for("shop.pair", pair_id=number),
    Way.GIVEN: lambda number: url_for("shop.pair", pair_id=number),
}


@bp.route("/people/<int:person_id>/erase", methods=["GET", "POST"])
def erase_person(person_id: int) -> Response | str:
    insist_on_manager()
    insist_on_fresh_sign_in()
    back = url_for("shop.take_for", person_id=person_id)
    with leading_to(back, N_("Go back")):
        person = erasing.to_erase(db(), actor(), person_id)
    form = EraseForm.posted()
    if form.is_sent_and_right():
        try:
            with transaction() as session:
                erasing.erase(session, actor(), person_id, now())
        except NotNow:
            person = erasing.to_erase(db(), actor(), person_id)
        else:
            flash(say(N_("Nothing is kept of this person any more but what the law and the skis need.")))
            return redirect(url_for("shop.new_booking"), 303)
    return erase_page(form, person, WAYS, back, is_own=False)
