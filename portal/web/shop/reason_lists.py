"""The lists of reasons: added to, put in order, reworded, and taken out of use."""

from __future__ import annotations

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response
from wtforms import StringField

from portal.domain.errors import NotFound
from portal.domain.reasons import Use
from portal.domain.words import N_
from portal.queries import reasons as find_reasons
from portal.services import reasons
from portal.web.forms import PortalForm, at_most, said, trimmed
from portal.web.language import say
from portal.web.request import actor, db, now, transaction
from portal.web.shop.blueprint import bp, insist_on_manager
from portal.web.shop.refusals import leading_to

# What a button does: by its word in the address.
UP, RETIRE, OFFER = "up", "retire", "offer"


class OwnReasonForm(PortalForm):
    """A reason in the workshop's own words."""

    words = StringField(
        N_("The reason"),
        [said(N_("Write the reason as people read it")), at_most(reasons.LONGEST_REASON)],
        filters=[trimmed],
    )


def _use(text: str) -> Use:
    try:
        return Use(text)
    except ValueError:
        raise NotFound from None


@bp.get("/reasons", endpoint="reasons")
def all_reasons() -> str:
    insist_on_manager()
    lists = [(use, [one for one in find_reasons.everything(db(), use) if not one.retired]) for use in Use]
    return render_template("shop/reasons.html", lists=lists, back_url=url_for("shop.hub"))


@bp.route("/reasons/<use>", methods=["GET", "POST"])
def reasons_of(use: str) -> str | Response:
    insist_on_manager()
    wanted = _use(use)
    form = OwnReasonForm.posted()
    here = url_for("shop.reasons_of", use=use)
    if form.is_sent_and_right():
        words = form.words.data or ""
        with leading_to(here, N_("See the list"), [(N_("The reason"), words)]), transaction() as session:
            reasons.add(session, actor(), wanted, words, now())
        flash(say(N_("The reason is in the list.")))
        return redirect(here, 303)
    return render_template(
        "shop/reasons_of.html",
        form=form,
        use=wanted,
        listed=find_reasons.everything(db(), wanted),
        back_url=url_for("shop.reasons"),
    )


@bp.route("/reasons/<use>/<name>", methods=["GET", "POST"])
def own_reason(use: str, name: str) -> str | Response:
    insist_on_manager()
    wanted = _use(use)
    found = next((one for one in find_reasons.everything(db(), wanted) if one.name == name), None)
    if found is None or found.key is not None:
        raise NotFound
    form = OwnReasonForm.posted(words=found.words)
    here = url_for("shop.reasons_of", use=use)
    if form.is_sent_and_right():
        with leading_to(here, N_("See the list")), transaction() as session:
            reasons.reword(session, actor(), wanted, name, form.words.data or "", now())
        flash(say(N_("The reason reads like that from now on.")))
        return redirect(here, 303)
    return render_template("shop/own_reason.html", form=form, use=wanted, back_url=here)


@bp.post("/reasons/<use>/<name>/<act>")
def change_reason(use: str, name: str, act: str) -> Response:
    insist_on_manager()
    wanted = _use(use)
    if act not in {UP, RETIRE, OFFER}:
        raise NotFound
    with transaction() as session:
        if act == UP:
            reasons.move_up(session, actor(), wanted, name, now())
        else:
            reasons.offer(session, actor(), wanted, name, act == OFFER, now())
    return redirect(url_for("shop.reasons_of", use=use), 303)
