"""The bench: a pair is ground and measured."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, cast

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.bookings import Stage, advance
from portal.domain.words import N_, Phrase
from portal.queries import arrivals as find_arrivals
from portal.queries import catalogue as find_structures
from portal.queries import grinds as find_grinds
from portal.queries import people as find_people
from portal.queries import runs as find_runs
from portal.queries import workshop as find_workshop
from portal.services import grinds
from portal.services.run_steps import ready
from portal.web.language import say
from portal.web.request import actor, db, now, today, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.check_in import to_work_on
from portal.web.shop.forms import GrindForm, choice
from portal.web.shop.pressure import pressure_of
from portal.web.shop.refusals import NotAnyMore, leading_to, leading_to_booking
from portal.web.shop.structures import choices_for

if TYPE_CHECKING:
    from portal.db.bookings import BookingItem


@bp.route("/pairs/<int:item_id>/record", methods=["GET", "POST"])
def record(item_id: int) -> str | Response:
    item = to_work_on(item_id)
    form = _form(item)
    if form.is_sent_and_right():
        return _keep(item, form)
    with leading_to_booking(item.booking_id, [(N_("The remarks you wrote"), form.remarks.data or "")]):
        advance(item.stage, Stage.GROUND)
    try:
        with leading_to(_run_url(item), N_("Go to the bench"), _written(form)):
            ready(db(), item)
    except NotAnyMore as refusal:
        if request.method == "POST":
            raise
        # Nothing is lost, and the bench is where that can be changed.
        flash(say(refusal.reason))
        return redirect(refusal.on_url, 303)
    here = find_workshop.the(db())
    return render_template(
        "shop/record.html",
        form=form,
        item=item,
        latest=find_grinds.latest_of_pairs(db(), [item.pair_id]).get(item.pair_id),
        thinnest_um=find_grinds.thinnest_now_um(db(), item.pair_id),
        minimum_um=here.minimum_um,
        pressure=pressure_of(item.pair, here),
        layers=len(find_structures.value(item.structure).layers),
        back_url=url_for("shop.day"),
    )


def _run_url(item: BookingItem) -> str:
    """The run in which the pair waits, or the runs of today."""
    waiting = find_runs.waiting_of_item(db(), item.id)
    return (
        url_for("shop.run", run_id=waiting[0].run_id, pair=waiting[0].id)
        if waiting
        else url_for("shop.bench_day")
    )


def _form(item: BookingItem) -> GrindForm:
    form = GrindForm.posted(
        structure=str(item.structure_id),
        ground_on=today(),
        technician=str(actor().person_id),
        flattened=item.flattening,
        saturated=item.saturation,
        shelf=item.shelf,
        **_as_it_came(item),
    )
    form.latest = today()
    form.structure.choices = choices_for(db(), item.pair.discipline, item.structure)
    form.technician.choices = [choice(person.id, person.name) for person in find_people.technicians(db())]
    return form


def _as_it_came(item: BookingItem) -> dict[str, int | None]:
    """The base as it was measured when the pair came in is the base before the grind."""
    found = find_arrivals.check_in_of(db(), item.id)
    if found is None:
        return {}
    return {"before_tip": found.tip_um, "before_middle": found.middle_um, "before_tail": found.tail_um}


def _keep(item: BookingItem, form: GrindForm) -> Response:
    names = {str(person.id): person.name for person in find_people.technicians(db())}
    facts = grinds.GrindFacts(
        structure_id=int(form.structure.data),
        ground_on=cast(date, form.ground_on.day),
        technician=names[form.technician.data],
        before_um=form.points("before"),
        after_um=form.points("after"),
        flattened=form.flattened.data,
        saturated=form.saturated.data,
        remarks=form.remarks.data or "",
        shelf=form.shelf.data or "",
    )
    with leading_to(_run_url(item), N_("Go to the bench"), _written(form)), transaction() as session:
        grinds.record(session, actor(), item.id, facts, now())
    flash(say(Phrase(N_("The grind of %(pair)s is recorded."), {"pair": item.pair.title})))
    return redirect(url_for("shop.pair", pair_id=item.pair_id, item=item.id), 303)


def _written(form: GrindForm) -> list[tuple[Phrase | str, str]]:
    """The measurements and remarks, to be shown when they could not be kept."""

    def points(when: str) -> str:
        return " / ".join("–" if um is None else str(um) for um in form.points(when))

    return [
        (N_("Base before, µm: tip / middle / tail"), points("before")),
        (N_("Base after, µm: tip / middle / tail"), points("after")),
        (N_("The remarks you wrote"), form.remarks.data or ""),
    ]
