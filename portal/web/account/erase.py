"""Erasing one's own account."""

from __future__ import annotations

from flask import flash, redirect, url_for
from werkzeug.wrappers import Response

from portal.domain.errors import NotNow
from portal.domain.leaving import Way
from portal.domain.words import N_
from portal.queries import people as find_people
from portal.services import erasing
from portal.web.account.blueprint import bp
from portal.web.erasing import EraseForm, Ways, erase_page
from portal.web.language import say
from portal.web.request import actor, db, forget_sign_in, insist_on_fresh_sign_in, now, transaction

WAYS: Ways = {
    Way.WORK: lambda _number: url_for("shop.leave"),
    Way.CLUB: lambda number: url_for("club.managers", club_id=number),
    Way.BOOKING: lambda number: url_for("skier.booking", booking_id=number),
    Way.PAIR: lambda number: url_for("skier.pair", pair_id=number),
    # The pair itself is not theirs to see any more.
    Way.GIVEN: lambda _number: url_for("skier.pairs"),
}


@bp.route("/account/erase", methods=["GET", "POST"])
def erase() -> Response | str:
    who = actor()
    insist_on_fresh_sign_in()
    form = EraseForm.posted()
    if form.is_sent_and_right():
        try:
            with transaction() as session:
                erasing.erase(session, who, who.person_id, now())
        except NotNow:
            # The page itself says what is in the way by now.
            pass
        else:
            forget_sign_in()
            flash(say(N_("Your account is erased, and you are signed out everywhere. Good skiing!")))
            return redirect(url_for("public.home"), 303)
    person = find_people.one(db(), who.person_id)
    return erase_page(form, person, WAYS, url_for(".your_data"), is_own=True)
