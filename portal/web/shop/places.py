"""Places where skis are handed in: which there are, when each takes skis, and when those reach the workshop."""

from __future__ import annotations

from datetime import time
from typing import Any

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response
from wtforms import RadioField, SelectField, SelectMultipleField, StringField, TextAreaField
from wtforms.form import BaseForm

from portal.domain.opening import WEEKDAYS
from portal.domain.places import PlaceKind
from portal.domain.words import N_
from portal.queries import places as find_places
from portal.services import places
from portal.services.places import PlaceFacts
from portal.web.forms import NumberField, PortalForm, Problem, at_most, said, trimmed
from portal.web.language import say
from portal.web.place_words import place_hint
from portal.web.request import actor, db, now, row_number, transaction
from portal.web.shop.blueprint import bp, insist_on_manager
from portal.web.shop.forms import choice, offered
from portal.web.shop.refusals import leading_to

NAME_LENGTH, ADDRESS_LENGTH = 120, 500
MOST_TRAVEL_DAYS = 14


class ClockField(StringField):
    """A time of the day as the browser's box or a person writes it, or nothing."""

    clock: time | None = None

    def process_data(self, value: Any) -> None:
        self.clock = value
        self.data = "" if value is None else f"{value:%H:%M}"

    def process_formdata(self, valuelist: list[Any]) -> None:
        super().process_formdata(valuelist)
        self.clock = None

    def pre_validate(self, form: BaseForm) -> None:
        text = (self.data or "").strip().replace(".", ":")
        if not text:
            return
        try:
            hours, minutes = text.split(":")
            if not (hours.isascii() and hours.isdecimal() and minutes.isascii() and minutes.isdecimal()):
                raise ValueError(text)
            self.clock = time(int(hours), int(minutes))
        except ValueError:
            raise Problem(N_("Write the time as hours and minutes, such as 16:30")) from None


class PlaceForm(PortalForm):
    """What the workshop says of a place."""

    name = StringField(
        N_("Name"), [said(N_("Enter a name that skiers know")), at_most(NAME_LENGTH)], filters=[trimmed]
    )
    kind = RadioField(
        N_("What is it?"),
        [offered(N_("Choose what kind of place it is"))],
        choices=[choice(kind.value, kind.label) for kind in PlaceKind],
        validate_choice=False,
    )
    club = SelectField(N_("Whose place is it?"), validate_choice=False)
    address = TextAreaField(N_("Address"), [at_most(ADDRESS_LENGTH)], filters=[trimmed])
    weekdays = SelectMultipleField(
        N_("On which weekdays?"),
        [said(N_("Choose at least one weekday"))],
        choices=[choice(number, name) for number, name in enumerate(WEEKDAYS)],
        validate_choice=False,
    )
    cut_off = ClockField(N_("Until what time?"))
    cut_off_days = RadioField(
        N_("On which day is that?"),
        [offered(N_("Choose the day of the cut-off"))],
        choices=[choice(0, N_("On the hand-in day itself")), choice(1, N_("On the day before"))],
        validate_choice=False,
    )
    travel_days = NumberField(
        N_("Days until the skis are at the workshop"),
        [said(N_("Enter a number of days, 0 for the same day"))],
        least=0,
        most=MOST_TRAVEL_DAYS,
    )

    def validate_club(self, field: SelectField) -> None:
        if self.kind.data == PlaceKind.CLUB:
            offered(N_("Choose the club whose place it is"))(self, field)

    @property
    def facts(self) -> PlaceFacts:
        """The same as values, once the form is right."""
        return PlaceFacts(
            name=self.name.data or "",
            kind=PlaceKind(self.kind.data),
            address=self.address.data or "",
            club_id=row_number(self.club.data),
            weekdays=frozenset(
                number for number in range(len(WEEKDAYS)) if str(number) in (self.weekdays.data or ())
            ),
            cut_off=self.cut_off.clock,
            cut_off_days=int(self.cut_off_days.data),
            travel_days=self.travel_days.number or 0,
        )


def _form(place: Any = None) -> PlaceForm:
    form = PlaceForm.posted(
        name=place.name if place else "",
        kind=place.kind.value if place else None,
        club=str(place.club_id or "") if place else "",
        address=place.address if place else "",
        weekdays=[str(day) for day in (place.weekdays if place else range(5))],
        cut_off=place.cut_off if place else None,
        cut_off_days=str(place.cut_off_days if place else 0),
        travel_days=place.travel_days if place else 0,
    )
    form.club.choices = [
        choice("", N_("No club")),
        *(choice(number, name) for number, name in find_places.clubs(db())),
    ]
    return form


@bp.get("/places", endpoint="places")
def all_places() -> str:
    insist_on_manager()
    rows = find_places.all_places(db())
    return render_template(
        "shop/places.html",
        rows=[(row, place_hint(row)) for row in rows],
        has_counter=any(row.kind is PlaceKind.COUNTER for row in rows),
        back_url=url_for("shop.hub"),
    )


@bp.route("/places/new", methods=["GET", "POST"])
def new_place() -> str | Response:
    insist_on_manager()
    form = _form()
    if form.is_sent_and_right():
        with transaction() as session:
            places.add(session, actor(), form.facts, now())
        flash(say(N_("The place is offered from now on.")))
        return redirect(url_for("shop.places"), 303)
    return render_template("shop/place_form.html", form=form, place=None, back_url=url_for("shop.places"))


@bp.route("/places/<int:place_id>", methods=["GET", "POST"])
def place(place_id: int) -> str | Response:
    insist_on_manager()
    found = find_places.one(db(), place_id)
    form = _form(found)
    if form.is_sent_and_right():
        with transaction() as session:
            places.change(session, actor(), place_id, form.facts, now())
        flash(say(N_("The place is changed. Bookings that name it keep their days.")))
        return redirect(url_for("shop.places"), 303)
    return render_template("shop/place_form.html", form=form, place=found, back_url=url_for("shop.places"))


@bp.post("/places/<int:place_id>/retire")
def retire_place(place_id: int) -> Response:
    with leading_to(url_for("shop.places"), N_("See the places")), transaction() as session:
        places.retire(session, actor(), place_id, now())
    flash(say(N_("The place is no longer offered. Bookings that name it keep it.")))
    return redirect(url_for("shop.places"), 303)


@bp.post("/places/<int:place_id>/reopen")
def reopen_place(place_id: int) -> Response:
    with transaction() as session:
        places.reopen(session, actor(), place_id, now())
    flash(say(N_("The place is offered again.")))
    return redirect(url_for("shop.places"), 303)
