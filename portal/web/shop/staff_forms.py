"""The forms about who works here."""

from __future__ import annotations

from typing import Any

from wtforms import BooleanField, RadioField
from wtforms.form import BaseForm

from portal.domain.access import StaffRole
from portal.domain.words import N_
from portal.web.forms import PortalForm, Problem
from portal.web.invite_forms import InvitationForm
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


class InviteForm(InvitationForm):
    """Whom to write to, and for which part."""

    role = _role()

    @property
    def staff_role(self) -> StaffRole:
        return StaffRole(self.role.data)


class SecondStepForm(PortalForm):
    """Whether everybody has to show more than a password."""

    required = BooleanField(N_("Everybody who works here needs a second step"))
