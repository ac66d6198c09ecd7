"""Who works here: a list, invitations, other parts, and leaving."""

from __future__ import annotations

from secrets import token_urlsafe

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.errors import NotNow
from portal.domain.words import N_, Phrase
from portal.queries import invitations as find_invitations
from portal.queries import second_factors as find_factors
from portal.queries import staff as find_staff
from portal.queries import workshop as find_workshop
from portal.services import second_factors, staff
from portal.web.language import say
from portal.web.links import links
from portal.web.request import (
    actor,
    db,
    forget_sign_in,
    insist_on_fresh_sign_in,
    now,
    transaction,
)
from portal.web.shop.blueprint import bp, insist_on_manager
from portal.web.shop.refusals import leading_to
from portal.web.shop.staff_forms import ROLE_HINTS, InviteForm, RoleForm, SecondStepForm

Page = Response | str


@bp.get("/staff", endpoint="staff")
def all_staff() -> Page:
    insist_on_manager()
    people = find_staff.all_of_them(db())
    required = find_workshop.the(db()).second_factor_required
    return render_template(
        "shop/staff.html",
        people=people,
        with_second_step=find_factors.those_with_any(db(), [person.id for person in people]),
        form=SecondStepForm(data={"required": required}),
        invitations=find_invitations.waiting(db()),
        now=now(),
    )


@bp.route("/staff/invite", methods=["GET", "POST"])
def invite() -> Page:
    insist_on_manager()
    insist_on_fresh_sign_in()
    form = InviteForm.posted()
    if form.is_sent_and_right():
        try:
            with transaction() as session:
                who = (form.email.address, form.name.data or "", form.staff_role)
                staff.invite(session, actor(), links(), *who, token_urlsafe(16), now())
            flash(say(Phrase(N_("A letter to %(name)s is on its way."), {"name": form.name.data or ""})))
            return redirect(url_for("shop.staff"), 303)
        except NotNow as refusal:
            form.email.errors = [refusal.reason]  # type: ignore[list-item]
    return render_template("shop/invite.html", form=form, hints=ROLE_HINTS, back_url=url_for("shop.staff"))


@bp.post("/staff/second-step")
def require_second_step() -> Page:
    insist_on_manager()
    insist_on_fresh_sign_in(url_for("shop.staff"))
    required = bool(SecondStepForm.posted().required.data)
    with transaction() as session:
        second_factors.require(session, actor(), required, now())
    text = (
        N_("Everybody who works here needs a second step now.")
        if required
        else N_("A second step is left to each.")
    )
    flash(say(text))
    return redirect(url_for("shop.staff"), 303)


@bp.route("/staff/<int:person_id>/second-step", methods=["GET", "POST"])
def reset_second_step(person_id: int) -> Page:
    insist_on_manager()
    insist_on_fresh_sign_in()
    person = find_staff.one(db(), person_id)
    back_url = url_for("shop.staff_member", person_id=person_id)
    if request.method == "POST":
        with leading_to(back_url, N_("Go back")), transaction() as session:
            name = second_factors.reset(session, actor(), person_id, now())
        flash(say(Phrase(N_("%(name)s signs in by the password alone now, and is told so."), {"name": name})))
        return redirect(url_for("shop.staff"), 303)
    return render_template("shop/reset_second_step.html", person=person, back_url=back_url)


@bp.post("/staff/invitations/<int:invitation_id>/again")
def invite_again(invitation_id: int) -> Page:
    insist_on_manager()
    insist_on_fresh_sign_in(url_for("shop.staff"))
    with leading_to(url_for("shop.staff"), N_("See who works here")), transaction() as session:
        name = staff.invite_again(session, actor(), links(), invitation_id, token_urlsafe(16), now()).name
    flash(
        say(
            Phrase(
                N_("Another letter to %(name)s is on its way. The link before works no more."), {"name": name}
            )
        )
    )
    return redirect(url_for("shop.staff"), 303)


@bp.post("/staff/invitations/<int:invitation_id>/withdraw")
def withdraw(invitation_id: int) -> Page:
    insist_on_manager()
    insist_on_fresh_sign_in(url_for("shop.staff"))
    with transaction() as session:
        name = staff.withdraw(session, actor(), invitation_id, now())
    flash(say(Phrase(N_("The invitation to %(name)s is withdrawn."), {"name": name})))
    return redirect(url_for("shop.staff"), 303)


@bp.route("/staff/<int:person_id>", methods=["GET", "POST"])
def staff_member(person_id: int) -> Page:
    insist_on_manager()
    insist_on_fresh_sign_in()
    person = find_staff.one(db(), person_id)
    form = RoleForm.posted(role=person.staff_role)
    if form.is_sent_and_right():
        here = url_for("shop.staff")
        with leading_to(here, N_("See who works here")), transaction() as session:
            changed = staff.change_role(session, actor(), person_id, form.staff_role, now())
        if changed:
            flash(say(N_("The part is changed.")))
        # Whoever makes themselves a technician may not see the list any more.
        way_on = url_for("shop.requests") if person_id == actor().person_id and changed else here
        return redirect(way_on, 303)
    return render_template(
        "shop/staff_member.html",
        person=person,
        form=form,
        hints=ROLE_HINTS,
        may_reset=person_id != actor().person_id and find_factors.has_any(db(), person_id),
        back_url=url_for("shop.staff"),
    )


@bp.route("/staff/<int:person_id>/leave", methods=["GET", "POST"])
def staff_leaves(person_id: int) -> Page:
    insist_on_manager()
    return _leave(person_id, url_for("shop.staff_member", person_id=person_id))


@bp.route("/leave", methods=["GET", "POST"])
def leave() -> Page:
    return _leave(actor().person_id, url_for("account.account"))


def _leave(person_id: int, back_url: str) -> Page:
    insist_on_fresh_sign_in()
    person = find_staff.one(db(), person_id)
    is_own = person_id == actor().person_id
    if request.method == "GET":
        return render_template("shop/leave.html", person=person, is_own=is_own, back_url=back_url)
    with leading_to(back_url, N_("Go back")), transaction() as session:
        name = staff.leave(session, actor(), person_id, now())
    if is_own:
        forget_sign_in()
        flash(say(N_("You work here no more and are signed out everywhere.")))
        return redirect(url_for("account.sign_in"), 303)
    flash(say(Phrase(N_("%(name)s works here no more and is signed out everywhere."), {"name": name})))
    return redirect(url_for("shop.staff"), 303)
