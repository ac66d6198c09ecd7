"""The workshop's care advice: what it gives, what it leaves out, and what it adds in its own words."""

from __future__ import annotations

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response
from wtforms import BooleanField, RadioField, SelectMultipleField, StringField, TextAreaField

from portal.domain.answers import Discipline
from portal.domain.care import COMMON, CareRule, CareStage
from portal.domain.errors import NotFound
from portal.domain.pairs import Grip
from portal.domain.snow import SnowKind
from portal.domain.words import N_
from portal.queries import care as find_care
from portal.queries import catalogue as find_structures
from portal.services import care
from portal.services.care import LONGEST_ADVICE, LONGEST_CONDITION
from portal.web.forms import PortalForm, Problem, at_most, said, trimmed
from portal.web.language import say
from portal.web.request import actor, db, now, portal, transaction
from portal.web.shop.blueprint import bp, insist_on_manager
from portal.web.shop.forms import choice, offered
from portal.web.shop.refusals import leading_to

# What a button does, by its word in the address.
GIVE, LEAVE_OUT = "give", "leave-out"
ONLY_THIN = "thin"


class CareForm(PortalForm):
    """An advice of the workshop's own. What is not ticked shuts nothing out."""

    stage = RadioField(
        N_("When is it due?"),
        [offered(N_("Choose when the advice is due"))],
        choices=[choice(one.value, one.label) for one in CareStage],
        validate_choice=False,
    )
    condition = StringField(
        N_("On which condition?"),
        [said(N_("Write when somebody should do it")), at_most(LONGEST_CONDITION)],
        filters=[trimmed],
    )
    advice = TextAreaField(
        N_("What is to be done?"),
        [said(N_("Write what is to be done")), at_most(LONGEST_ADVICE)],
        filters=[trimmed],
    )
    caution = TextAreaField(N_("What can hurt?"), [at_most(LONGEST_ADVICE)], filters=[trimmed])
    harmless = BooleanField(N_("Nothing in it can hurt anyone"))
    source = StringField(N_("Where is it from?"), [at_most(LONGEST_CONDITION)], filters=[trimmed])
    families = SelectMultipleField(N_("Families"), validate_choice=False)
    disciplines = SelectMultipleField(
        N_("Skied in"), choices=[choice(one.value, one.label) for one in Discipline], validate_choice=False
    )
    grips = SelectMultipleField(
        N_("Grip"), choices=[choice(one.value, one.label) for one in Grip], validate_choice=False
    )
    snow = SelectMultipleField(
        N_("Snow"), choices=[choice(one.value, one.label) for one in SnowKind], validate_choice=False
    )
    bases = SelectMultipleField(
        N_("Base"),
        choices=[choice(ONLY_THIN, N_("Only where it is near the workshop's minimum"))],
        validate_choice=False,
    )

    def validate_caution(self, field: TextAreaField) -> None:
        if not field.data and not self.harmless.data:
            raise Problem(N_("Write what can hurt, or tick that nothing can"))

    def validate_source(self, field: StringField) -> None:
        told = f"{self.condition.data} {self.advice.data}"
        if not field.data and any(sign.isdecimal() for sign in told):
            raise Problem(N_("Name where the number comes from, or leave it out"))

    def rule(self) -> CareRule:
        """What was entered, as a value; what is not in the lists is left out."""

        def chosen(field: SelectMultipleField) -> frozenset[str]:
            return frozenset(str(one[0]) for one in field.iter_choices() if one[2])

        return CareRule(
            key="",
            stage=CareStage(self.stage.data),
            condition=(self.condition.data or "").rstrip("."),
            advice=self.advice.data or "",
            caution=self.caution.data or "",
            source=self.source.data or COMMON,
            families=chosen(self.families),
            disciplines=frozenset(map(Discipline, chosen(self.disciplines))),
            grips=frozenset(map(Grip, chosen(self.grips))),
            snow=frozenset(map(SnowKind, chosen(self.snow))),
            only_thin=bool(chosen(self.bases)),
        )


def _families() -> dict[str, str]:
    return {family.key: family.name for family in find_structures.families(db())}


@bp.get("/care", endpoint="care")
def all_care() -> str:
    insist_on_manager()
    listed = find_care.everything(db(), portal().reference.care.rules)
    return render_template(
        "shop/care.html",
        stages=[(stage, [one for one in listed if one.rule.stage is stage]) for stage in CareStage],
        families=_families(),
        back_url=url_for("shop.hub"),
    )


@bp.route("/care/new", methods=["GET", "POST"])
def new_care() -> str | Response:
    insist_on_manager()
    form = CareForm.posted()
    form.families.choices = [choice(*one) for one in _families().items()]
    here = url_for("shop.care")
    if form.is_sent_and_right():
        rule = form.rule()
        with leading_to(here, N_("See the advice"), _written(rule)), transaction() as session:
            care.write(session, actor(), rule, now())
        flash(say(N_("The advice is given from now on, on pages and papers.")))
        return redirect(here, 303)
    return render_template("shop/care_form.html", form=form, own=None, back_url=here)


@bp.route("/care/<int:rule_id>", methods=["GET", "POST"])
def own_care(rule_id: int) -> str | Response:
    insist_on_manager()
    row = find_care.own(db(), rule_id)
    form = CareForm.posted(
        stage=row.stage.value if row.stage else None,
        condition=row.condition,
        advice=row.advice,
        caution=row.caution,
        harmless=not row.caution,
        source="" if row.source == COMMON else row.source,
        families=row.families,
        disciplines=row.disciplines,
        grips=row.grips,
        snow=row.snow,
        bases=[ONLY_THIN] if row.only_thin else [],
    )
    form.families.choices = [choice(*one) for one in _families().items()]
    here = url_for("shop.care")
    if form.is_sent_and_right():
        rule = form.rule()
        with leading_to(here, N_("See the advice"), _written(rule)), transaction() as session:
            care.rewrite(session, actor(), rule_id, rule, now())
        flash(say(N_("The advice reads like that from now on.")))
        return redirect(here, 303)
    return render_template("shop/care_form.html", form=form, own=row, back_url=here)


def _written(rule: CareRule) -> list[tuple[str, str]]:
    """What somebody wrote, to be shown where it could not be kept."""
    return [
        (N_("On which condition?"), rule.condition),
        (N_("What is to be done?"), rule.advice),
        (N_("What can hurt?"), rule.caution),
    ]


@bp.post("/care/<key>/<act>")
def give_care(key: str, act: str) -> Response:
    insist_on_manager()
    if act not in {GIVE, LEAVE_OUT}:
        raise NotFound
    with transaction() as session:
        care.give(session, actor(), portal().reference.care.rules, key, act == GIVE, now())
    told = N_("The advice is given again.") if act == GIVE else N_("The advice is left out from now on.")
    flash(say(told))
    return redirect(url_for("shop.care"), 303)
