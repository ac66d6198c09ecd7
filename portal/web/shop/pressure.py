"""The camber of a pair, and what it does to the force on the stone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from portal.domain.access import Action, insist
from portal.domain.pressure import CAMBER_MM, CONTACT_CM, Camber, PressureLine, Wheel, pressure_line
from portal.domain.words import N_, Phrase
from portal.pictures import pressure_line as picture
from portal.queries import pairs as find_pairs
from portal.services import pairs
from portal.web.forms import PortalForm, Problem
from portal.web.language import say, speak
from portal.web.request import actor, db, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.measures import MeasureField
from portal.web.shown import Shown, shown

if TYPE_CHECKING:
    from portal.db.pairs import Pair
    from portal.db.workshop import Workshop


@dataclass(frozen=True)
class Pressure:
    """The pressure line of a pair, and what it was worked out from."""

    picture: Shown
    worked_out_from: str


def line_of(pair: Pair, workshop: Workshop) -> PressureLine | None:
    """The force on the stone along the ski; nothing while camber or contact length were not measured."""
    if pair.camber_mm is None or pair.contact_cm is None:
        return None
    return pressure_line(
        Camber(pair.camber_mm, 10.0 * pair.contact_cm),
        Wheel(workshop.wheel_force_n, workshop.wheel_drag_pct / 100),
    )


def pressure_of(pair: Pair, workshop: Workshop) -> Pressure | None:
    """The same as a page shows it."""
    line = line_of(pair, workshop)
    if line is None or pair.camber_mm is None:
        return None
    voice = speak()
    drawn = shown(
        picture.draw(line, voice),
        "pressure",
        say(N_("Force on the stone along the ski")),
        picture.describe(line, voice),
        picture.table(line, voice),
    )
    worked_out_from = say(
        N_(
            "Worked out from a camber of %(camber)s mm over %(contact)s cm, a wheel force of %(force)s N and a drag of "
            "%(drag)s\N{NO-BREAK SPACE}%% of it. The arch is taken as rigid; a real ski flattens under the wheel, so "
            "this is the most that the camber does."
        ),
        camber=voice.number(pair.camber_mm, 0 if pair.camber_mm == int(pair.camber_mm) else 1),
        contact=pair.contact_cm,
        force=workshop.wheel_force_n,
        drag=workshop.wheel_drag_pct,
    )
    return Pressure(drawn, worked_out_from)


class CamberForm(PortalForm):
    """Both measurements, or neither."""

    camber_mm = MeasureField(
        N_("Camber height"),
        least=CAMBER_MM[0],
        most=CAMBER_MM[1],
        unit="mm",
        needed=False,
        description=N_(
            "Between the base of one ski and a flat bench at the highest point, with no load on it"
        ),
    )
    contact_cm = MeasureField(
        N_("Contact length"),
        least=CONTACT_CM[0],
        most=CONTACT_CM[1],
        unit="cm",
        needed=False,
        whole=True,
        description=N_("From the front place where the base lies on the bench to the rear one"),
    )

    def validate_contact_cm(self, field: MeasureField) -> None:
        if self.camber_mm.errors:
            return
        if (self.camber_mm.value is None) is not (field.value is None):
            raise Problem(N_("Enter both the camber height and the contact length, or leave both empty"))


@bp.route("/pair/<int:pair_id>/camber", methods=["GET", "POST"])
def camber(pair_id: int) -> str | Response:
    pair = find_pairs.one(db(), actor(), pair_id)
    insist(actor(), Action.WORK_ON_PAIR, pair)
    form = CamberForm.posted(camber_mm=pair.camber_mm, contact_cm=pair.contact_cm)
    pair_url = url_for("shop.pair", pair_id=pair.id)
    if form.is_sent_and_right():
        title, contact = pair.title, form.contact_cm.value
        with transaction() as session:
            pairs.measure_camber(
                session, actor(), pair_id, form.camber_mm.value, None if contact is None else int(contact)
            )
        flash(say(Phrase(N_("The camber of %(pair)s is saved."), {"pair": title})))
        return redirect(pair_url, 303)
    return render_template("shop/camber.html", form=form, pair=pair, back_url=pair_url)
