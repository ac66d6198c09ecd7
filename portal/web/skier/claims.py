"""Pairs that come from a club: whoever has the code of a junior makes the junior's pairs their own."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response
from wtforms import StringField

from portal.domain.errors import NotNow
from portal.domain.words import N_, Phrase
from portal.services import claims
from portal.services.claims import Claimable
from portal.web.forms import PortalForm, said, trimmed
from portal.web.language import say, speak
from portal.web.request import actor, db, now, transaction
from portal.web.skier.blueprint import bp


class ClaimForm(PortalForm):
    """The code that the club gave."""

    code = StringField(
        N_("Code from your club"),
        [said(N_("Enter the code that the club gave you"))],
        filters=[trimmed],
        description=N_("Ten letters and digits; spaces and small letters do not matter"),
    )


@bp.route("/pairs/claim", methods=["GET", "POST"])
def claim() -> str | Response:
    form = ClaimForm.posted(code=request.args.get("code", "")[:40])
    found = _behind(form) if form.is_sent_and_right() else None
    if found is not None and "take" in request.form:
        try:
            with transaction() as session:
                claims.take(session, actor(), form.code.data or "", now())
            flash(say(N_("These pairs are yours now, with everything that was ground on them.")))
            return redirect(url_for("skier.pairs"), 303)
        except NotNow as refusal:
            found = None
            form.code.errors = [refusal.reason]  # type: ignore[list-item]
    return render_template(
        "skier/claim.html", form=form, behind=found, who=actor(), back_url=url_for("skier.pairs")
    )


def _behind(form: ClaimForm) -> Claimable | None:
    """What the code of the form gives; else says why not, and counts the try."""
    free_at = claims.free_at(db(), actor(), now())
    if free_at is not None:
        told = N_("Too many codes were wrong. Try again after %(time)s")
        form.code.errors = [Phrase(told, {"time": speak().moment(free_at)})]  # type: ignore[list-item]
        return None
    found = claims.behind(db(), form.code.data or "", now())
    if found is None:
        with transaction() as session:
            claims.miss(session, actor(), now())
        form.code.errors = [Phrase(N_("No pairs wait under this code. Look at it again, or ask the club"))]  # type: ignore[list-item]
    return found
