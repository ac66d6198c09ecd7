"""The forms about who works here."""

from __future__ import annotations

from typing import Any

from wtforms import BooleanField, RadioField, StringField
from wtforms.form import BaseForm

from portal.domain.access import StaffRole
from portal.domain.words import N_
from portal.services import accounts
from portal.web.email_field import EmailField, on_one_line
from portal.web.forms import PortalForm, Problem, at_most, said
from portal.web.shop.forms import choice

ROLES = [choice(role.value, role.label) for role in (StaffRole.TECHNICIAN, StaffRole.MANAGER)]
# What each part may do, beside its name.
ROLE_HINTS = {
    StaffRole.TECHNICIAN.value: N_("Sees the day, checks pairs in, grinds, and hands them back"),
    StaffRole.MANAGER.value: N_(
        "All of that, and answers requests, sets days and prices, and looks after staff"
    ),
}


def _listed(_form: BaseForm, field: Any) -> None:
    if field.data not in set(StaffRole):
        raise Problem(N_("Choose a part"))


def _role() -> RadioField:
    return RadioField(N_("Part at the workshop"), [_listed], choices=ROLES, validate_choice=False)


class RoleForm(PortalForm):
    """Which part somebody has."""

    role = _role()

    @property
    def staff_role(self) -> StaffRole:
        return StaffRole(self.role.data)


class InviteForm(RoleForm):
    """Whom to write to."""

    name = StringField(
        N_("Name"), [said(N_("Enter a name")), at_most(accounts.NAME_LENGTH)], filters=[on_one_line]
    )
    email = EmailField(N_("E-mail address"), [said(N_("Enter an e-mail address"))], filters=[on_one_line])
    # Again, so that it is asked for last.
    role = _role()


class SecondStepForm(PortalForm):
    """Whether everybody has to show more than a password."""

    required = BooleanField(N_("Everybody who works here needs a second step"))
