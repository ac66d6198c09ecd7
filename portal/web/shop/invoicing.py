"""What stands on invoices: who issues them, where money is sent, within how many days."""

from __future__ import annotations

from dataclasses import asdict

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from portal.domain.words import N_
from portal.queries import workshop as find_workshop
from portal.services import invoicing as issuers
from portal.web.language import say
from portal.web.request import actor, db, insist_on_fresh_sign_in, now, transaction
from portal.web.shop.blueprint import bp, insist_on_manager
from portal.web.shop.invoice_forms import IssuerForm


@bp.route("/invoicing", methods=["GET", "POST"])
def invoicing() -> str | Response:
    insist_on_manager()
    # Whoever changes the account sends everybody's money elsewhere.
    insist_on_fresh_sign_in()
    form = IssuerForm.posted(**asdict(issuers.facts_of(find_workshop.the(db()))))
    if form.is_sent_and_right():
        with transaction() as session:
            issuers.keep(session, actor(), form.facts, now())
        flash(say(N_("This stands on invoices from now on. Those that are issued stay as they are.")))
        return redirect(url_for("shop.invoicing"), 303)
    return render_template("shop/invoicing.html", form=form, back_url=url_for("shop.hub"))
