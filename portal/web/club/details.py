"""What the club says of itself: address, where bills go, where skis are usually handed in."""

from __future__ import annotations

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response
from wtforms import SelectField, StringField, TextAreaField
from wtforms.fields.choices import SelectChoice  # type: ignore[attr-defined]

from portal.domain.errors import NotNow
from portal.domain.places import COUNTER_KEY
from portal.domain.words import N_
from portal.queries import clubs as find_clubs
from portal.queries import places as find_places
from portal.services import clubs, places
from portal.services.clubs import ClubFacts
from portal.web.club.blueprint import bp
from portal.web.club.forms import offered
from portal.web.countries import CountryField
from portal.web.email_field import EmailField, on_one_line
from portal.web.forms import PortalForm, at_most, said, trimmed
from portal.web.language import say
from portal.web.place_words import place_choices
from portal.web.request import actor, db, now, transaction

NAME_LENGTH, ADDRESS_LENGTH = 120, 500


class LaxEmailField(EmailField):
    """An e-mail address that may be left out."""

    def post_validate(self, form: object, validation_stopped: bool) -> None:
        self.address = ""
        if (self.data or "").strip():
            super().post_validate(form, validation_stopped)  # type: ignore[arg-type]


class ClubForm(PortalForm):
    """The details of a club."""

    name = StringField(
        N_("Name of the club"),
        [said(N_("Enter the club's name")), at_most(NAME_LENGTH)],
        filters=[on_one_line],
    )
    address = TextAreaField(N_("Postal address"), [at_most(ADDRESS_LENGTH)], filters=[trimmed])
    place = SelectField(
        N_("Where are skis usually handed in?"),
        [offered(N_("Choose where skis are handed in"))],
        validate_choice=False,
    )
    invoice_name = StringField(N_("Name on the bill"), [at_most(NAME_LENGTH)], filters=[on_one_line])
    invoice_address = TextAreaField(N_("Address on the bill"), [at_most(ADDRESS_LENGTH)], filters=[trimmed])
    country = CountryField(N_("Country"), may_be_empty=N_("Where the workshop is"))
    invoice_email = LaxEmailField(N_("E-mail address for bills"), filters=[on_one_line])
    tax_number = StringField(N_("Tax number"), [at_most(40)], filters=[on_one_line])
    buyer_reference = StringField(N_("Your reference on bills"), [at_most(80)], filters=[on_one_line])

    @property
    def facts(self) -> ClubFacts:
        key = self.place.data
        return ClubFacts(
            name=self.name.data or "",
            address=self.address.data or "",
            invoice_name=self.invoice_name.data or "",
            invoice_address=self.invoice_address.data or "",
            invoice_email=self.invoice_email.address,
            tax_number=self.tax_number.data or "",
            buyer_reference=self.buyer_reference.data or "",
            country=self.country.data or "",
            place_id=None if key == COUNTER_KEY else int(key),
        )


@bp.route("/<int:club_id>/details", methods=["GET", "POST"])
def details(club_id: int) -> str | Response:
    club = find_clubs.one(db(), actor(), club_id)
    there = find_places.offered(db(), club_id)
    kept = next((place for place in there if place is not None and place.id == club.hand_in_place_id), None)
    usual = kept if kept is not None else there[0]
    form = ClubForm.posted(
        **{
            name: getattr(club, name)
            for name in (
                "name",
                "address",
                "invoice_name",
                "invoice_address",
                "invoice_email",
                "tax_number",
                "buyer_reference",
                "country",
            )
        },
        place=places.key(usual),
    )
    form.place.choices = [SelectChoice(value, words) for value, words in place_choices(there)]
    if form.is_sent_and_right():
        try:
            with transaction() as session:
                clubs.change(session, actor(), club_id, form.facts, now())
            flash(say(N_("The details are kept.")))
            return redirect(url_for("club.club", club_id=club_id), 303)
        except NotNow as refusal:
            form.name.errors = [refusal.reason]  # type: ignore[list-item]
    return render_template(
        "club/details.html", club=club, form=form, back_url=url_for("club.club", club_id=club_id)
    )
