"""Pairs in a crate that no code tells: registered on the spot for a junior of the club, or kept in words."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response
from wtforms import HiddenField, RadioField, SelectField, StringField, TextAreaField
from wtforms.validators import Optional

from portal.domain.answers import Discipline
from portal.domain.pairs import LENGTH_CM
from portal.domain.tags import grouped, tag_of
from portal.domain.words import N_, Phrase
from portal.queries import crates as find_crates
from portal.services import crates
from portal.services.pairs import PairFacts
from portal.web.forms import NumberField, PortalForm, at_most, said, trimmed
from portal.web.language import say
from portal.web.pair_form import NAME_LENGTH, labelled, offered
from portal.web.request import actor, db, now, row_number, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.crates import SEE_CRATE, order_of, page_of
from portal.web.shop.forms import REMARKS_LENGTH, choice
from portal.web.shop.refusals import leading_to
from portal.web.shop.runs_shown import new_key

KEY_LENGTH = 40


class FoundPairForm(PortalForm):
    """A pair that was never registered: what can be seen of it, and who skis it."""

    key = HiddenField(filters=[trimmed])
    junior = SelectField(N_("Who skis it?"), validate_choice=False)
    maker = StringField(
        N_("Maker"), [said(N_("Enter who made the skis")), at_most(NAME_LENGTH)], filters=[trimmed]
    )
    model = StringField(N_("Model"), [Optional(), at_most(NAME_LENGTH)], filters=[trimmed])
    discipline = RadioField(
        N_("What are they made for?"),
        [offered(N_("Choose whether the skis are for classic or for skating"))],
        choices=labelled(Discipline),
        validate_choice=False,
    )
    length = NumberField(N_("Length"), [Optional()], least=LENGTH_CM[0], most=LENGTH_CM[1], unit="cm")
    mark = StringField(N_("Mark on the skis"), [Optional(), at_most(NAME_LENGTH)], filters=[trimmed])

    def facts(self) -> PairFacts:
        """What was said, once it has been checked."""
        return PairFacts(
            maker=self.maker.data or "",
            model=self.model.data or "",
            discipline=Discipline(self.discipline.data),
            length_cm=self.length.number,
            mark=self.mark.data or "",
        )


class UnknownPairForm(PortalForm):
    """A pair that nobody can tell."""

    words = TextAreaField(
        N_("What can be seen of the pair?"),
        [said(N_("Write what can be seen of the pair")), at_most(REMARKS_LENGTH)],
        filters=[trimmed],
    )


@bp.route("/crates/<int:booking_id>/register", methods=["GET", "POST"], endpoint="register_in_crate")
def register(booking_id: int) -> str | Response:
    order = order_of(booking_id)
    form = FoundPairForm.posted(key=new_key())
    roster = find_crates.juniors(db(), order.club_id or 0)
    form.junior.choices = [choice("", N_("Not known")), *(choice(one.id, one.display_name) for one in roster)]
    if form.is_sent_and_right():
        junior_id = row_number(form.junior.data)
        written: list[Any] = [
            (form.maker.label.text, form.maker.data),
            (form.mark.label.text, form.mark.data),
        ]
        with leading_to(page_of(booking_id), SEE_CRATE, written), transaction() as session:
            made = crates.register(
                session,
                actor(),
                booking_id,
                junior_id,
                form.facts(),
                now(),
                key=(form.key.data or "")[:KEY_LENGTH],
            )
            code = grouped(tag_of(made.id))
        flash(
            say(Phrase(N_("The pair is registered and noted as extra. Its tag is %(code)s."), {"code": code}))
        )
        return redirect(page_of(booking_id), 303)
    return render_template("shop/crate_register.html", form=form, order=order, back_url=page_of(booking_id))


@bp.route("/crates/<int:booking_id>/unknown", methods=["GET", "POST"], endpoint="unknown_in_crate")
def unknown(booking_id: int) -> str | Response:
    order = order_of(booking_id)
    form = UnknownPairForm.posted()
    if form.is_sent_and_right():
        words = form.words.data or ""
        written = [(form.words.label.text, words)]
        with leading_to(page_of(booking_id), SEE_CRATE, written), transaction() as session:
            crates.note_unknown(session, actor(), booking_id, words, now())
        flash(say(N_("The pair is noted as extra. Lay it aside.")))
        return redirect(page_of(booking_id), 303)
    return render_template("shop/crate_unknown.html", form=form, order=order, back_url=page_of(booking_id))


@bp.post("/crates/<int:booking_id>/extras/<int:extra_id>/forget", endpoint="forget_extra")
def forget(booking_id: int, extra_id: int) -> Response:
    order_of(booking_id)
    with leading_to(page_of(booking_id), SEE_CRATE), transaction() as session:
        crates.forget(session, actor(), booking_id, extra_id)
    flash(say(N_("It is not in this crate, then.")))
    return redirect(url_for("shop.crate", booking_id=booking_id), 303)
