"""A pair whose owner erased their account, and who takes it on."""

from __future__ import annotations

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from portal.domain.errors import NotNow
from portal.domain.words import N_, Phrase
from portal.queries import pairs as find_pairs
from portal.services import handovers
from portal.web.email_field import EmailField, on_one_line
from portal.web.forms import PortalForm, said
from portal.web.language import say
from portal.web.request import actor, db, now, transaction
from portal.web.shop.blueprint import bp


class TakeOnForm(PortalForm):
    """Whose the pair is from now on."""

    email = EmailField(
        N_("E-mail address of whoever brings it in"),
        [said(N_("Enter the address by which they are known here"))],
        filters=[on_one_line],
    )


@bp.route("/pair/<int:pair_id>/take-on", methods=["GET", "POST"])
def take_on(pair_id: int) -> Response | str:
    pair, form = find_pairs.one(db(), actor(), pair_id), TakeOnForm.posted()
    if form.is_sent_and_right():
        try:
            with transaction() as session:
                person = handovers.take_on(session, actor(), pair_id, form.email.address, now())
                name = person.name
        except NotNow as refusal:
            form.email.errors = [refusal.reason]  # type: ignore[list-item]
        else:
            flash(say(Phrase(N_("The pair is %(name)s's from now on."), {"name": name})))
            return redirect(url_for("shop.pair", pair_id=pair_id), 303)
        pair = find_pairs.one(db(), actor(), pair_id)
    return render_template(
        "shop/take_on.html", pair=pair, form=form, back_url=url_for("shop.pair", pair_id=pair_id)
    )
