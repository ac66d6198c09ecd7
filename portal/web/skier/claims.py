"""Pairs that come from somebody else: whoever has the code of a junior's pairs or of a pair makes them their own."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response
from wtforms import RadioField, StringField

from portal.domain.errors import NotNow
from portal.domain.words import N_, Phrase
from portal.services import claims, handovers
from portal.services.claims import Claimable
from portal.services.handovers import Offered
from portal.web.forms import PortalForm, said, trimmed
from portal.web.language import say, speak
from portal.web.pair_form import offered
from portal.web.request import actor, db, now, row_number, transaction
from portal.web.skier.blueprint import bp

OWN = "own"


class ClaimForm(PortalForm):
    """The code that a club or somebody gave, and whose the pair becomes."""

    code = StringField(
        N_("Code"),
        [said(N_("Enter the code that you were given"))],
        filters=[trimmed],
        description=N_("Ten letters and digits; spaces and small letters do not matter"),
    )
    whose = RadioField(
        N_("Whose does it become?"),
        [offered(N_("Choose whose it becomes"))],
        default=OWN,
        validate_choice=False,
    )

    @property
    def club_id(self) -> int | None:
        return row_number(self.whose.data)


@bp.route("/pairs/claim", methods=["GET", "POST"])
def claim() -> str | Response:
    form = ClaimForm.posted(code=request.args.get("code", "")[:40])
    form.whose.choices = [(OWN, N_("Mine")), *((str(key), name) for key, name in actor().clubs.items())]
    form.whose.data = form.whose.data or OWN
    found = _behind(form) if form.is_sent_and_right() else None
    if found is not None and "take" in request.form:
        try:
            return _taken(found, form)
        except NotNow as refusal:
            found = None
            form.code.errors = [refusal.reason]  # type: ignore[list-item]
    if isinstance(found, Offered):
        return render_template(
            "handover/take.html", form=form, offered=found, who=actor(), back_url=url_for("skier.pairs")
        )
    return render_template(
        "skier/claim.html", form=form, behind=found, who=actor(), back_url=url_for("skier.pairs")
    )


def _taken(found: Claimable | Offered, form: ClaimForm) -> Response:
    code = form.code.data or ""
    if isinstance(found, Claimable):
        with transaction() as session:
            claims.take(session, actor(), code, now())
        flash(say(N_("These pairs are yours now, with everything that was ground on them.")))
        return redirect(url_for("skier.pairs"), 303)
    club_id = form.club_id
    with transaction() as session:
        pair_id = handovers.take(session, actor(), code, now(), club_id)
    flash(say(N_("The pair is yours now, with everything that was ground on it.")))
    if club_id is not None:
        return redirect(url_for("club.pair", club_id=club_id, pair_id=pair_id), 303)
    return redirect(url_for("skier.pair", pair_id=pair_id), 303)


def _behind(form: ClaimForm) -> Claimable | Offered | None:
    """What the code of the form gives; else says why not, and counts the try."""
    free_at = claims.free_at(db(), actor(), now())
    if free_at is not None:
        told = N_("Too many codes were wrong. Try again after %(time)s")
        form.code.errors = [Phrase(told, {"time": speak().moment(free_at)})]  # type: ignore[list-item]
        return None
    code = form.code.data or ""
    found = claims.behind(db(), code, now()) or handovers.behind(db(), actor(), code, now())
    if found is None:
        with transaction() as session:
            claims.miss(session, actor(), now())
        wrong = N_("No pairs wait under this code. Look at it again, or ask whoever gave it to you")
        form.code.errors = [wrong]
    return found
