"""Venues: the weather of a year is loaded, looked at, then kept for skiers or dropped."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, request, url_for
from markupsafe import Markup
from werkzeug.wrappers import Response

from portal.domain.climate import DAYTIME, NORTHERN_WINTER, Climate
from portal.domain.errors import NotNow
from portal.domain.hourly import BadFile
from portal.domain.words import N_, Phrase
from portal.pictures import climate as picture
from portal.queries import venues as find_venues
from portal.services import venues
from portal.web.language import say, speak
from portal.web.request import actor, db, now, portal, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.refusals import leading_to
from portal.web.shop.venue_forms import LoadVenueForm, VenueNameForm
from portal.web.shown import on_page

NO_FILE = Phrase(N_("Choose a file"))


@bp.route("/venues", methods=["GET", "POST"], endpoint="venues")
def all_venues() -> str | Response:
    rows = find_venues.everything(db(), actor())
    form = LoadVenueForm.posted()
    if form.is_sent_and_right():
        sent = form.uploaded()
        if sent is None:
            form.file.errors = [NO_FILE]  # type: ignore[list-item]
        elif find_venues.has_kept_name(db(), form.name.data or ""):
            form.name.errors = [_taken(form)]  # type: ignore[list-item]
        else:
            try:
                with transaction() as session:
                    made = venues.load(session, actor(), form.name.data or "", *sent, now()).id
                return redirect(url_for("shop.venue", venue_id=made), 303)
            except BadFile as fault:
                form.file.errors = [fault.told]  # type: ignore[list-item]
    return render_template(
        "shop/venues.html",
        form=form,
        rows=[(row, find_venues.climate(row)) for row in rows],
        degrees=lambda value: picture.degrees(value, speak()),
    )


def _taken(form: VenueNameForm) -> Phrase:
    return Phrase(
        N_("Enter another name: there is a venue called %(name)s already"), {"name": form.name.data or ""}
    )


@bp.get("/venues/<int:venue_id>")
def venue(venue_id: int) -> str:
    row = find_venues.one(db(), actor(), venue_id)
    climate = find_venues.climate(row)
    voice = speak()
    answer = climate.humidity(portal().reference.tables.wetness.humidity_pct)
    return render_template(
        "shop/venue.html",
        venue=row,
        climate=climate,
        humidity=answer.label,
        days=[(name, picture.degrees(day, voice)) for name, day in _days(climate)],
        thaw=picture.percent(climate.thaw_share, voice),
        median=picture.percent(climate.humidity_pct / 100, voice),
        used=_used(climate),
        pressure=_pressure(climate),
        drawn=_drawn(climate),
        numbers=picture.numbers(climate, voice),
        back_url=url_for("shop.venues"),
    )


def _days(climate: Climate) -> list[tuple[str, float]]:
    return [
        (N_("A cold day"), climate.cold_c),
        (N_("An ordinary day"), climate.ordinary_c),
        (N_("A mild day"), climate.mild_c),
    ]


def _used(climate: Climate) -> Phrase:
    """Which rows stand behind the numbers."""
    text = (
        N_("%(hours)s readings of %(rows)s: November to April, from %(first)s to %(last)s o'clock")
        if climate.months == NORTHERN_WINTER
        else N_("%(hours)s readings of %(rows)s: May to October, from %(first)s to %(last)s o'clock")
    )
    first, last = (f"{hour:g}" for hour in DAYTIME)
    return Phrase(text, {"hours": climate.hours, "rows": climate.rows, "first": first, "last": last})


def _pressure(climate: Climate) -> Phrase:
    """Where the pressure behind the wet bulb came from."""
    if not climate.without_pressure:
        return Phrase(N_("As it stands in the file"))
    if climate.elevation_m is None:
        return Phrase(
            N_(
                "That of the standard atmosphere at the sea for %(hours)s readings: the file has neither it nor a height"
            ),
            {"hours": climate.without_pressure},
        )
    return Phrase(
        N_("That of the standard atmosphere at %(height)s m for %(hours)s readings without it"),
        {"height": f"{climate.elevation_m:g}", "hours": climate.without_pressure},
    )


def _drawn(climate: Climate) -> Markup:
    voice = speak()
    return on_page(
        picture.draw(climate, voice),
        "climate",
        say(N_("Winter days by temperature")),
        picture.describe(climate, voice),
    )


@bp.post("/venues/<int:venue_id>/keep")
def keep_venue(venue_id: int) -> Response:
    here = url_for("shop.rename_venue", venue_id=venue_id)
    with leading_to(here, N_("Give it another name")), transaction() as session:
        name = venues.keep(session, actor(), venue_id, now()).name
    flash(
        say(
            Phrase(N_("%(name)s is kept. Skiers can fill in its days in the snow questions."), {"name": name})
        )
    )
    return redirect(url_for("shop.venues"), 303)


@bp.route("/venues/<int:venue_id>/rename", methods=["GET", "POST"])
def rename_venue(venue_id: int) -> str | Response:
    row: Any = find_venues.one(db(), actor(), venue_id)
    form = VenueNameForm.posted(name=row.name)
    if form.is_sent_and_right():
        try:
            with transaction() as session:
                venues.rename(session, actor(), venue_id, form.name.data or "", now())
            flash(say(Phrase(N_("The venue is called %(name)s now."), {"name": form.name.data or ""})))
            return redirect(url_for("shop.venue", venue_id=venue_id), 303)
        except NotNow:
            form.name.errors = [_taken(form)]  # type: ignore[list-item]
    return render_template(
        "shop/rename_venue.html", form=form, back_url=url_for("shop.venue", venue_id=venue_id)
    )


@bp.route("/venues/<int:venue_id>/remove", methods=["GET", "POST"])
def remove_venue(venue_id: int) -> str | Response:
    row = find_venues.one(db(), actor(), venue_id)
    if request.method == "POST":
        with transaction() as session:
            name = venues.remove(session, actor(), venue_id, now())
        flash(say(Phrase(N_("%(name)s is removed."), {"name": name})))
        return redirect(url_for("shop.venues"), 303)
    return render_template(
        "shop/remove_venue.html", venue=row, back_url=url_for("shop.venue", venue_id=venue_id)
    )
