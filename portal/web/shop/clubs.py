"""The clubs that the workshop knows: which there are, who manages them, and a new one."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from secrets import token_urlsafe

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response
from wtforms import StringField

from portal.domain.errors import NotNow
from portal.domain.words import N_, Phrase
from portal.queries import clubs as find_clubs
from portal.queries import invitations as find_invitations
from portal.queries import workshop as find_workshop
from portal.services import clubs
from portal.web.email_field import on_one_line
from portal.web.forms import PortalForm, Problem, at_most, said
from portal.web.invite_forms import InvitationForm, who
from portal.web.language import say
from portal.web.links import links
from portal.web.request import actor, db, insist_on_fresh_sign_in, now, today, transaction
from portal.web.shop.blueprint import bp, insist_on_manager
from portal.web.shop.money_forms import PercentField
from portal.web.shop.opening_forms import LastDayField
from portal.web.shop.refusals import leading_to

NAME_LENGTH = 120


class FoundClubForm(PortalForm):
    """A club, and whoever will manage it."""

    club = StringField(
        N_("Name of the club"),
        [said(N_("Enter the club's name")), at_most(NAME_LENGTH)],
        filters=[on_one_line],
    )
    name, email = who()


class AgreementForm(PortalForm):
    """What was agreed with one club; the view sets ``earliest``, the day it is."""

    earliest: date

    percent = PercentField(N_("What does the club save?"))
    until = LastDayField(N_("Until which day?"), ask="")

    def validate_until(self, field: LastDayField) -> None:
        if field.day is not None and field.day < self.earliest and self.percent.amount:
            raise Problem(N_("Enter today or a later day, or leave it empty"))


@bp.get("/clubs", endpoint="clubs")
def all_clubs() -> str:
    insist_on_manager()
    return render_template(
        "shop/clubs.html",
        clubs=find_clubs.all_clubs(db()),
        waiting=find_invitations.to_clubs(db()),
        now=now(),
        today=today(),
        back_url=url_for("shop.hub"),
    )


@bp.route("/clubs/new", methods=["GET", "POST"])
def found_club() -> str | Response:
    insist_on_manager()
    insist_on_fresh_sign_in()
    form = FoundClubForm.posted()
    if form.is_sent_and_right():
        name, manager = form.club.data or "", (form.name.data or "", form.email.address)
        mark = token_urlsafe(16)
        try:
            with transaction() as session:
                clubs.found(session, actor(), links(), name, manager, mark, now())
            words = N_("%(club)s is here now, and a letter to %(name)s is on its way.")
            flash(say(Phrase(words, {"club": name, "name": manager[0]})))
            return redirect(url_for("shop.clubs"), 303)
        except NotNow as refusal:
            form.club.errors = [refusal.reason]  # type: ignore[list-item]
    return render_template("shop/found_club.html", form=form, back_url=url_for("shop.clubs"))


@bp.route("/clubs/<int:club_id>/invite", methods=["GET", "POST"])
def invite_to_club(club_id: int) -> str | Response:
    insist_on_manager()
    insist_on_fresh_sign_in()
    club = find_clubs.to_invite_to(db(), actor(), club_id)
    form = InvitationForm.posted()
    if form.is_sent_and_right():
        to = form.email.address, form.name.data or ""
        try:
            with transaction() as session:
                clubs.invite(session, actor(), links(), club_id, *to, token_urlsafe(16), now())
            flash(say(Phrase(N_("A letter to %(name)s is on its way."), {"name": to[1]})))
            return redirect(url_for("shop.clubs"), 303)
        except NotNow as refusal:
            form.email.errors = [refusal.reason]  # type: ignore[list-item]
    return render_template("shop/invite_to_club.html", form=form, club=club, back_url=url_for("shop.clubs"))


@bp.route("/clubs/<int:club_id>/agreement", methods=["GET", "POST"])
def club_agreement(club_id: int) -> str | Response:
    insist_on_manager()
    club = find_clubs.to_invite_to(db(), actor(), club_id)
    form = AgreementForm.posted(percent=club.agreed_percent, until=club.agreed_until)
    form.earliest = today()
    if form.is_sent_and_right():
        percent = form.percent.amount or Decimal(0)
        with transaction() as session:
            clubs.agree(session, actor(), club_id, percent, form.until.day, now())
        flash(say(N_("The agreement is kept. Orders that are made already keep what they were made with.")))
        return redirect(url_for("shop.clubs"), 303)
    return render_template(
        "shop/club_agreement.html",
        form=form,
        club=club,
        tiers=find_workshop.tiers(db()),
        back_url=url_for("shop.clubs"),
    )


@bp.post("/clubs/<int:club_id>/invitations/<int:invitation_id>/withdraw")
def withdraw_from_club(club_id: int, invitation_id: int) -> Response:
    insist_on_manager()
    insist_on_fresh_sign_in(url_for("shop.clubs"))
    with leading_to(url_for("shop.clubs"), N_("See the clubs")), transaction() as session:
        name = clubs.withdraw(session, actor(), club_id, invitation_id, now())
    flash(say(Phrase(N_("The invitation to %(name)s is withdrawn."), {"name": name})))
    return redirect(url_for("shop.clubs"), 303)
