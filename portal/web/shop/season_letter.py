"""The letter of a season: who would get it, how it reads for one of them, and sending it."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.words import N_
from portal.services import season_letters
from portal.web.forms import PortalForm
from portal.web.language import say
from portal.web.request import (
    actor,
    db,
    insist_on_fresh_sign_in,
    now,
    portal,
    row_number,
    transaction,
)
from portal.web.shop.blueprint import bp, insist_on_manager
from portal.web.shop.refusals import leading_to


@bp.get("/season-letter")
def season_letter() -> str:
    insist_on_manager()
    after = row_number(request.args.get("after")) or 0
    shown = season_letters.preview(db(), now(), after) or season_letters.preview(db(), now())
    return render_template(
        "shop/season_letter.html",
        outlook=season_letters.outlook(db(), now()),
        person_id=shown[0] if shown else None,
        letter=shown[1] if shown else None,
        site=portal().settings.base_url,
        back_url=url_for("shop.hub"),
    )


@bp.route("/season-letter/send", methods=["GET", "POST"])
def send_season_letter() -> str | Response:
    insist_on_manager()
    insist_on_fresh_sign_in()
    page = url_for("shop.season_letter")
    form = PortalForm.posted()
    if form.is_sent_and_right():
        with leading_to(page, N_("Back to the season letter")), transaction() as session:
            season_letters.send(session, actor(), now())
        flash(say(N_("The letters are being written. They leave within a few minutes.")))
        return redirect(page, 303)
    return render_template(
        "shop/send_season_letter.html", outlook=season_letters.outlook(db(), now()), back_url=page
    )
