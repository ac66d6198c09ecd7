"""Whose a pair is: who had it before, freezing it in a dispute, and how that ends."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response
from wtforms import RadioField, TextAreaField

from portal.domain.access import Action, insist
from portal.domain.words import N_, Phrase
from portal.queries import handovers as find_handovers
from portal.queries import pairs as find_pairs
from portal.services import disputes, found_skis
from portal.web.forms import PortalForm, at_most, said, trimmed
from portal.web.language import say, speak
from portal.web.pair_form import offered, option
from portal.web.request import actor, db, now, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.refusals import leading_to

LONGEST_REASON = 2000
SEE_PAIR = N_("Back to the pair")
AS_IT_IS, GIVE_BACK = "as_it_is", "give_back"


class FreezeForm(PortalForm):
    """Why it has to be cleared up whose the pair is."""

    reason = TextAreaField(
        N_("What has happened?"),
        [said(N_("Write who says what, for your colleagues")), at_most(LONGEST_REASON)],
        filters=[trimmed],
    )


class SettleForm(PortalForm):
    """How the dispute ends."""

    end = RadioField(
        N_("Whose is the pair?"), [offered(N_("Choose whose the pair is"))], validate_choice=False
    )


def who_had_it(pair_id: int) -> list[tuple[str, Phrase]]:
    """Each holder before today's, the last one first, and until when and how the pair left them."""
    return [
        (
            row.giver_name or say(N_("Somebody who is no longer known here")),
            Phrase(
                N_("until %(day)s: %(way)s"),
                {"day": speak().day_of(row.at), "way": Phrase(row.way.label)},
            ),
        )
        for row in reversed(find_handovers.chain(db(), pair_id))
    ]


def _page(pair_id: int) -> str:
    return url_for("shop.pair", pair_id=pair_id)


@bp.route("/pair/<int:pair_id>/freeze", methods=["GET", "POST"])
def freeze_pair(pair_id: int) -> str | Response:
    pair = find_pairs.one(db(), actor(), pair_id)
    form = FreezeForm.posted()
    if form.is_sent_and_right():
        reason = form.reason.data or ""
        written = [(form.reason.label.text, reason)]
        with leading_to(_page(pair_id), SEE_PAIR, written), transaction() as session:
            disputes.freeze(session, actor(), pair_id, reason, now())
        flash(say(N_("The pair is frozen until a shop manager says whose it is.")))
        return redirect(_page(pair_id), 303)
    return render_template("shop/freeze_pair.html", form=form, pair=pair, back_url=_page(pair_id))


@bp.route("/pair/<int:pair_id>/settle", methods=["GET", "POST"])
def settle_pair(pair_id: int) -> str | Response:
    pair = find_pairs.one(db(), actor(), pair_id)
    insist(actor(), Action.SETTLE_PAIR, pair)
    before = disputes.before(db(), pair)
    form = SettleForm.posted()
    form.end.choices = _ends(pair, before)
    if form.is_sent_and_right():
        gives_back = form.end.data == GIVE_BACK
        act = disputes.give_back if gives_back else disputes.clear
        with leading_to(_page(pair_id), SEE_PAIR), transaction() as session:
            act(session, actor(), pair_id, now())
        told = (
            N_("The pair is back with whoever had it before, and both have a letter.")
            if gives_back
            else N_("The pair stays whose it is, and can be booked again.")
        )
        flash(say(told))
        return redirect(_page(pair_id), 303)
    return render_template(
        "shop/settle_pair.html",
        form=form,
        pair=pair,
        before=before,
        had_it=who_had_it(pair_id),
        back_url=_page(pair_id),
    )


def _ends(pair: Any, before: Any) -> list[Any]:
    holder = pair.club or pair.owner
    stays = (
        Phrase(N_("It stays with %(name)s"), {"name": holder.name})
        if holder is not None
        else Phrase(N_("It is nobody's, and whoever brings it in can take it on"))
    )
    ends = [option(AS_IT_IS, stays)]
    if before is not None:
        ends.append(
            (
                GIVE_BACK,
                Phrase(N_("It goes back to %(name)s, who had it before"), {"name": before.giver_name}),
            )
        )
    return ends


@bp.route("/pair/<int:pair_id>/found", methods=["GET", "POST"])
def found_pair(pair_id: int) -> str | Response:
    pair = find_pairs.one(db(), actor(), pair_id)
    form = PortalForm.posted()
    if form.is_sent_and_right():
        with leading_to(_page(pair_id), SEE_PAIR), transaction() as session:
            found_skis.handed_in(session, actor(), pair_id, now())
        flash(say(N_("A letter tells its owner that the pair is here.")))
        return redirect(_page(pair_id), 303)
    return render_template("shop/found_pair.html", form=form, pair=pair, back_url=_page(pair_id))


@bp.post("/pair/<int:pair_id>/found/given-back")
def found_pair_back(pair_id: int) -> Response:
    with leading_to(_page(pair_id), SEE_PAIR), transaction() as session:
        found_skis.given_back(session, actor(), pair_id, now())
    flash(say(N_("The pair is with its owner again.")))
    return redirect(_page(pair_id), 303)
