"""The register of diamonds: what each is, how it was measured, how often it dressed, which structures name it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response
from wtforms import StringField, TextAreaField
from wtforms.form import BaseForm

from portal.domain.access import Action, insist
from portal.domain.diamonds import Diamond
from portal.domain.dressing import Dressing
from portal.domain.errors import NotNow
from portal.domain.words import N_, Phrase
from portal.queries import catalogue as find_structures
from portal.queries import diamonds as find_diamonds
from portal.services import diamonds
from portal.services.diamonds import DiamondFacts
from portal.web.forms import NumberField, PortalForm, Problem, at_most, said, trimmed
from portal.web.language import say
from portal.web.request import actor, db, now, row_number, today, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.forms import DayField
from portal.web.shop.measures import MeasureField, as_written
from portal.web.shop.refusals import leading_to

if TYPE_CHECKING:
    from portal.db.catalogue import Structure as StructureRow

MARK_LENGTH, NOTES_LENGTH, MOST_DRESSINGS = 40, 2000, 1_000_000


class MaybeDayField(DayField):
    """A day that may be left out."""

    def pre_validate(self, form: BaseForm) -> None:
        if (self.data or "").strip():
            super().pre_validate(form)


class DiamondForm(PortalForm):
    """What is written down of a diamond; the view sets ``latest``, the day it is."""

    latest: date

    mark = StringField(
        N_("Mark"),
        [said(N_("Enter the mark by which the workshop knows the diamond")), at_most(MARK_LENGTH)],
        filters=[trimmed],
        description=N_("Your own name or number for it; no two diamonds share one"),
    )
    nominal_width_mm = MeasureField(N_("Nominal width"), least=0.05, most=20, unit="mm")
    nominal_tip_mm = MeasureField(N_("Nominal tip radius"), least=0.01, most=10, unit="mm")
    tip_radius_mm = MeasureField(
        N_("Measured tip radius"),
        least=0,
        most=10,
        unit="mm",
        needed=False,
        description=N_("Leave it empty until it was measured"),
    )
    tip_flat_mm = MeasureField(
        N_("Measured flat of the tip"),
        least=0,
        most=10,
        unit="mm",
        needed=False,
        description=N_("What is worn off the rounding; leave it empty until it was measured"),
    )
    dressings = NumberField(
        N_("Dressings so far"),
        [said(N_("Enter how often it dressed the stone, 0 for never"))],
        least=0,
        most=MOST_DRESSINGS,
        filters=[trimmed],
    )
    looked_at = MaybeDayField(N_("Looked at last"), ask="")
    notes = TextAreaField(N_("Notes"), [at_most(NOTES_LENGTH)], filters=[trimmed])

    def validate_tip_radius_mm(self, field: MeasureField) -> None:
        if field.value == 0 and not self.tip_flat_mm.value and not self.tip_flat_mm.errors:
            raise Problem(N_("A tip without a rounding has a flat: enter one of them above 0"))

    def validate_looked_at(self, field: MaybeDayField) -> None:
        if field.day is not None and field.day > self.latest:
            raise Problem(N_("Enter a day that is not in the future"))

    @property
    def facts(self) -> DiamondFacts:
        """What was entered, once it is right."""
        return DiamondFacts(
            mark=self.mark.data or "",
            nominal_width_mm=self.nominal_width_mm.value or 0.0,
            nominal_tip_mm=self.nominal_tip_mm.value or 0.0,
            tip_radius_mm=self.tip_radius_mm.value,
            tip_flat_mm=self.tip_flat_mm.value,
            dressings=self.dressings.number or 0,
            looked_at=self.looked_at.day,
            notes=self.notes.data or "",
        )


@dataclass(frozen=True)
class Cut:
    """A structure of which a layer names a diamond: which layer, and the tip it was computed with where it is another."""

    row: StructureRow
    layer: int
    other_tip: Phrase | None


@bp.get("/diamonds", endpoint="diamonds")
def all_diamonds() -> str:
    insist(actor(), Action.SEE_CATALOGUE, None)
    return render_template("shop/diamonds.html", rows=find_diamonds.all_diamonds(db()))


@bp.get("/diamonds/<int:diamond_id>")
def diamond(diamond_id: int) -> str:
    insist(actor(), Action.SEE_CATALOGUE, None)
    row = find_diamonds.one(db(), diamond_id)
    value = find_diamonds.value(row)
    return render_template(
        "shop/diamond.html", row=row, value=value, cuts=_cuts(value), back_url=url_for("shop.diamonds")
    )


def _cuts(value: Diamond) -> list[Cut]:
    return [
        Cut(row, number, _other_tip(value, layer.cut))
        for row in find_diamonds.structures_naming(db(), value.mark)
        for number, layer in enumerate(find_structures.value(row).layers, 1)
        if layer.diamond == value.mark and isinstance(layer.cut, Dressing)
    ]


def _other_tip(value: Diamond, cut: Dressing) -> Phrase | None:
    if (cut.tip_radius_mm, cut.tip_flat_mm) == (value.radius_mm, value.flat_mm):
        return None
    return Phrase(
        N_("Computed with a radius of %(radius)s mm and a flat of %(flat)s mm"),
        {"radius": as_written(cut.tip_radius_mm), "flat": as_written(cut.tip_flat_mm)},
    )


@bp.route("/diamonds/new", methods=["GET", "POST"])
def new_diamond() -> str | Response:
    insist(actor(), Action.EDIT_CATALOGUE, None)
    form = DiamondForm.posted(dressings=0)
    form.latest = today()
    if form.is_sent_and_right():
        try:
            with transaction() as session:
                made = diamonds.add(session, actor(), form.facts, now())
                diamond_id = made.id
        except NotNow as refusal:
            form.mark.errors = [refusal.reason]  # type: ignore[list-item]
        else:
            flash(say(Phrase(N_("%(mark)s is in the register."), {"mark": form.facts.mark})))
            return redirect(url_for("shop.diamond", diamond_id=diamond_id), 303)
    return render_template("shop/diamond_form.html", form=form, row=None, back_url=url_for("shop.diamonds"))


@bp.route("/diamonds/<int:diamond_id>/change", methods=["GET", "POST"])
def change_diamond(diamond_id: int) -> str | Response:
    insist(actor(), Action.EDIT_CATALOGUE, None)
    row = find_diamonds.one(db(), diamond_id)
    form = DiamondForm.posted(**{name: getattr(row, name) for name in DiamondFacts.__dataclass_fields__})
    form.latest = today()
    seen = row_number(request.form.get("seen")) if request.method == "POST" else row.dressings
    seen = row.dressings if seen is None else seen
    if form.is_sent_and_right():
        try:
            with transaction() as session:
                diamonds.change(session, actor(), diamond_id, form.facts, seen, now())
        except NotNow as refusal:
            form.mark.errors = [refusal.reason]  # type: ignore[list-item]
        else:
            flash(say(Phrase(N_("%(mark)s is saved."), {"mark": form.facts.mark})))
            return redirect(url_for("shop.diamond", diamond_id=diamond_id), 303)
    return render_template(
        "shop/diamond_form.html",
        form=form,
        row=row,
        seen=seen,
        back_url=url_for("shop.diamond", diamond_id=diamond_id),
    )


@bp.post("/diamonds/<int:diamond_id>/count")
def count_dressing(diamond_id: int) -> Response:
    on_url = url_for("shop.diamond", diamond_id=diamond_id)
    with leading_to(on_url, N_("See the diamond")), transaction() as session:
        count = diamonds.count_dressing(session, actor(), diamond_id)
    flash(say(Phrase(N_("Counted: %(count)s dressings now."), {"count": count})))
    return _back(diamond_id)


@bp.post("/diamonds/<int:diamond_id>/looked-at")
def looked_at(diamond_id: int) -> Response:
    day = today()
    with transaction() as session:
        diamonds.looked_at(session, actor(), diamond_id, day)
    flash(say(N_("Written down: looked at today.")))
    return _back(diamond_id)


@bp.post("/diamonds/<int:diamond_id>/retire")
def retire_diamond(diamond_id: int) -> Response:
    with transaction() as session:
        diamonds.retire(session, actor(), diamond_id, now())
    flash(say(N_("The diamond is retired.")))
    return _back(diamond_id)


@bp.post("/diamonds/<int:diamond_id>/bring-back")
def bring_back_diamond(diamond_id: int) -> Response:
    with transaction() as session:
        diamonds.bring_back(session, actor(), diamond_id, now())
    flash(say(N_("The diamond is in use again.")))
    return _back(diamond_id)


def _back(diamond_id: int) -> Response:
    return redirect(url_for("shop.diamond", diamond_id=diamond_id), 303)
