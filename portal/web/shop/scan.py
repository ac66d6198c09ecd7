"""Scanning a tag opens its pair, with what is next for it."""

from __future__ import annotations

from flask import redirect, render_template, url_for
from werkzeug.wrappers import Response
from wtforms import StringField

from portal.domain.errors import NotFound
from portal.domain.tags import number_of
from portal.domain.words import N_
from portal.queries import pairs as find_pairs
from portal.web.forms import PortalForm, Problem, trimmed
from portal.web.request import actor, db
from portal.web.shop.blueprint import bp

# What a scanner may send at most: the address of a tag's page.
MOST_SCANNED = 500


class ScanForm(PortalForm):
    """A code that was scanned or typed."""

    code = StringField(N_("Code of the tag"), filters=[trimmed])
    pair_id: int | None = None

    def validate_code(self, field: StringField) -> None:
        if not field.data:
            raise Problem(N_("Scan a tag, or enter its code"))
        try:
            if len(field.data) > MOST_SCANNED:
                raise NotFound
            self.pair_id = find_pairs.one(db(), actor(), number_of(field.data)).id
        except NotFound:
            raise Problem(
                N_("No pair has this code. Scan it again, or compare it with the tag sign by sign")
            ) from None


@bp.route("/scan", methods=["GET", "POST"])
def scan() -> str | Response:
    form = ScanForm.posted()
    if form.is_sent_and_right():
        return redirect(url_for("shop.pair", pair_id=form.pair_id, scanned="yes"), 303)
    return render_template("shop/scan.html", form=form)
