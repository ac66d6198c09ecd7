"""The workshop's rules: how long time is held without an answer, until when a booking can be changed, and what that costs."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response
from wtforms.validators import Optional

from portal.domain.change_rules import NOTHING, ChangeRules
from portal.domain.words import N_
from portal.queries import workshop as find_workshop
from portal.services import change_terms
from portal.web.amounts import AmountField
from portal.web.forms import NumberField, PortalForm, Problem
from portal.web.language import say
from portal.web.request import actor, db, now, transaction
from portal.web.shop.blueprint import bp, insist_on_manager

MOST_HOURS, MOST_DAYS = 2000, 365


class RulesForm(PortalForm):
    """All of them at once."""

    hold_hours = NumberField(
        N_("Hours that time is held without an answer"),
        [Optional()],
        least=0,
        most=MOST_HOURS,
        unit="h",
        description=N_("For requests and counter-offers alike; empty or 0 holds it until there is an answer"),
    )
    free_days = NumberField(
        N_("Free of charge until so many days before hand-in"),
        [Optional()],
        least=0,
        most=MOST_DAYS,
        description=N_("Empty: a change never costs anything"),
    )
    last_days = NumberField(
        N_("Possible until so many days before hand-in"),
        [Optional()],
        least=0,
        most=MOST_DAYS,
        description=N_("Empty: as long as no pair has been handed in"),
    )
    move_fee = AmountField(N_("Fee for another day"))
    take_out_fee = AmountField(N_("Fee for each pair taken out"))
    cancel_fee = AmountField(N_("Fee for cancelling"))

    def validate_last_days(self, field: Any) -> None:
        free = self.free_days.number
        if free is not None and field.number is not None and field.number > free:
            raise Problem(
                N_("Enter at most %(free)s days: a change cannot stop being possible while it is free"),
                free=free,
            )

    @property
    def rules(self) -> ChangeRules:
        """What was entered, once it has been checked."""
        return ChangeRules(
            self.free_days.number,
            self.last_days.number,
            self.move_fee.amount or NOTHING,
            self.take_out_fee.amount or NOTHING,
            self.cancel_fee.amount or NOTHING,
        )


@bp.route("/workshop/rules", methods=["GET", "POST"])
def rules() -> str | Response:
    insist_on_manager()
    workshop = find_workshop.the(db())
    form = RulesForm.posted(hold_hours=workshop.hold_hours, **vars(change_terms.rules_of(workshop)))
    if form.is_sent_and_right():
        with transaction() as session:
            change_terms.keep_rules(session, actor(), form.rules, form.hold_hours.number or 0, now())
        flash(say(N_("The rules are kept. They hold for every booking from now on.")))
        return redirect(url_for("shop.rules"), 303)
    return render_template(
        "shop/rules.html", form=form, currency=workshop.currency, back_url=url_for("shop.hub")
    )
