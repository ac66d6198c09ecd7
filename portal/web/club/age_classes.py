"""The age classes of a club: named by birth years, each with answers of its own where the club gives some."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response
from wtforms import StringField

from portal.domain.age_classes import class_of
from portal.domain.errors import NotNow
from portal.domain.juniors import BIRTH_YEARS
from portal.domain.words import N_
from portal.queries import age_classes as find_classes
from portal.queries import clubs as find_clubs
from portal.queries import pairs as find_pairs
from portal.services import age_classes
from portal.web.club.answers import begin_for
from portal.web.club.blueprint import bp
from portal.web.forms import NumberField, PortalForm, Problem, at_most, said, trimmed
from portal.web.language import say
from portal.web.request import actor, db, now, transaction

NAME_LENGTH = 40


class AgeClassForm(PortalForm):
    """A class: a name, and the years its juniors were born in."""

    name = StringField(
        N_("Name of the class"),
        [said(N_("Enter a name for the class")), at_most(NAME_LENGTH)],
        filters=[trimmed],
        description=N_("As your club says it, for instance U14"),
    )
    first_year = NumberField(N_("Born from"), least=BIRTH_YEARS[0], most=BIRTH_YEARS[1])
    last_year = NumberField(
        N_("Born until"), least=BIRTH_YEARS[0], most=BIRTH_YEARS[1], description=N_("This year too")
    )

    def validate_first_year(self, field: NumberField) -> None:
        if field.number is None:
            raise Problem(N_("Enter the first birth year"))

    def validate_last_year(self, field: NumberField) -> None:
        if field.number is None:
            raise Problem(N_("Enter the last birth year"))

    @property
    def facts(self) -> tuple[str, int, int]:
        """Name and birth years, once they are right."""
        return self.name.data or "", self.first_year.number or 0, self.last_year.number or 0

    def blame(self, refusal: NotNow) -> None:
        """Say the reason at the field it is about."""
        field = self["name"] if refusal.reason == age_classes.SAME_NAME else self["last_year"]
        field.errors = [refusal.reason]


def _list(club_id: int) -> str:
    return url_for("club.age_classes", club_id=club_id)


@bp.route("/<int:club_id>/age-classes", methods=["GET", "POST"], endpoint="age_classes")
def all_classes(club_id: int) -> str | Response:
    club = find_clubs.one(db(), actor(), club_id)
    form = AgeClassForm.posted()
    if form.is_sent_and_right():
        try:
            with transaction() as session:
                age_classes.add(session, actor(), club_id, *form.facts, now())
        except NotNow as refusal:
            form.blame(refusal)
        else:
            flash(say(N_("%(name)s is a class of the club now."), name=form.name.data))
            return redirect(_list(club_id), 303)
    classes = find_classes.of_club(db(), club_id)
    juniors = club.roster
    found: dict[int | None, list[Any]] = {}
    for junior in juniors:
        one = class_of(junior.birth_year, classes)
        found.setdefault(one.id if one else None, []).append(junior)
    return render_template(
        "club/age_classes.html",
        club=club,
        form=form,
        classes=classes,
        juniors=found,
        answers=find_classes.answers(db(), club_id),
        of_club=find_pairs.answers_of_club(db(), club_id),
        back_url=url_for("club.club", club_id=club_id),
    )


@bp.route("/<int:club_id>/age-classes/<int:class_id>", methods=["GET", "POST"])
def edit_age_class(club_id: int, class_id: int) -> str | Response:
    one = find_classes.one(db(), actor(), club_id, class_id)
    form = AgeClassForm.posted(name=one.name, first_year=one.first_year, last_year=one.last_year)
    if form.is_sent_and_right():
        try:
            with transaction() as session:
                age_classes.edit(session, actor(), club_id, class_id, *form.facts)
        except NotNow as refusal:
            form.blame(refusal)
        else:
            flash(say(N_("The change is kept.")))
            return redirect(_list(club_id), 303)
    return render_template(
        "club/age_class.html",
        club=find_clubs.one(db(), actor(), club_id),
        form=form,
        one=one,
        back_url=_list(club_id),
    )


@bp.route("/<int:club_id>/age-classes/<int:class_id>/remove", methods=["GET", "POST"])
def remove_age_class(club_id: int, class_id: int) -> str | Response:
    one = find_classes.one(db(), actor(), club_id, class_id)
    form, name = PortalForm.posted(), one.name
    if form.is_sent_and_right():
        with transaction() as session:
            age_classes.remove(session, actor(), club_id, class_id)
        flash(say(N_("%(name)s is no class of the club any more."), name=name))
        return redirect(_list(club_id), 303)
    return render_template(
        "club/remove_age_class.html",
        club=find_clubs.one(db(), actor(), club_id),
        one=one,
        has_answers=class_id in find_classes.answers(db(), club_id),
        back_url=url_for("club.edit_age_class", club_id=club_id, class_id=class_id),
    )


@bp.post("/<int:club_id>/age-classes/move-on")
def move_classes_on(club_id: int) -> Response:
    with transaction() as session:
        age_classes.move_on(session, actor(), club_id, 1)
    flash(say(N_("Each class is one birth year younger now.")))
    return redirect(_list(club_id), 303)


@bp.post("/<int:club_id>/age-classes/<int:class_id>/snow-questions")
def begin_answers_of_class(club_id: int, class_id: int) -> Response:
    find_classes.one(db(), actor(), club_id, class_id)
    earlier = find_classes.answers(db(), club_id).get(class_id) or find_pairs.answers_of_club(db(), club_id)
    return begin_for(club_id, class_id, earlier)
