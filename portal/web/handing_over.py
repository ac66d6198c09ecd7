"""The page on which whoever has a pair hands it over: makes a code, sends it on, takes it back."""

from __future__ import annotations

import secrets
from typing import Any

from flask import make_response, render_template, url_for
from werkzeug.wrappers import Response
from wtforms.validators import Optional

from portal.domain.access import Action, insist
from portal.domain.errors import NotNow
from portal.domain.words import N_
from portal.queries import handovers as find_handovers
from portal.services import codes, handovers
from portal.web.email_field import EmailField, on_one_line
from portal.web.errors import page
from portal.web.forms import PortalForm
from portal.web.language import say, speak
from portal.web.request import actor, db, insist_on_fresh_sign_in, now, transaction

SEE_PAIR = N_("Back to the pair")


class HandOverForm(PortalForm):
    """Where the link is to go, if the workshop is to send it."""

    email = EmailField(N_("E-mail address of whoever is to have it"), [Optional()], filters=[on_one_line])


def hand_over_page(pair: Any, back_url: str, withdraw_url: str) -> str | Response:
    """Shows how a pair is handed over and, once, the code that was made."""
    insist(actor(), Action.EDIT_PAIR, pair)
    insist_on_fresh_sign_in()
    form = HandOverForm.posted()
    code = ""
    try:
        handovers.insist_it_can_go(db(), pair)
        if form.is_sent_and_right():
            code = codes.drawn(secrets.choice)
            with transaction() as session:
                handovers.offer(session, actor(), pair.id, code, now(), form.email.address)
    except NotNow as refusal:
        return page(409, "409", reason=refusal.reason, on_url=back_url, on_label=SEE_PAIR)
    shown = render_template(
        "handover/offer.html",
        form=form,
        pair=pair,
        # Known at this moment only: what is kept cannot be read back.
        code=codes.grouped(code) if code else "",
        link=url_for("skier.claim", code=code, _external=True) if code else "",
        sent_to=form.email.address if code else "",
        offer=find_handovers.offer_of(db(), pair.id),
        now=now(),
        withdraw_url=withdraw_url,
        back_url=back_url,
    )
    answer = make_response(shown)
    answer.headers["Cache-Control"] = "no-store"
    return answer


def withdraw(pair_id: int) -> None:
    """The code that is out for a pair holds no more."""
    with transaction() as session:
        handovers.withdraw(session, actor(), pair_id)


def given_away(*, person_id: int | None = None, club_id: int | None = None) -> list[str]:
    """What a person or a club has handed over, and on which day."""
    return [
        say(N_("%(pair)s, on %(day)s"), pair=row.title, day=speak().day_of(row.at))
        for row in find_handovers.given_away(db(), person_id=person_id, club_id=club_id)
    ]
