"""Whom to invite, wherever somebody is invited."""

from __future__ import annotations

from wtforms import StringField

from portal.domain.words import N_
from portal.services import accounts
from portal.web.email_field import EmailField, on_one_line
from portal.web.forms import PortalForm, at_most, said


def who() -> tuple[StringField, EmailField]:
    """The two fields, for a form that asks for them after others: fields are read in the order in which they are made."""
    return (
        StringField(
            N_("Name"), [said(N_("Enter a name")), at_most(accounts.NAME_LENGTH)], filters=[on_one_line]
        ),
        EmailField(N_("E-mail address"), [said(N_("Enter an e-mail address"))], filters=[on_one_line]),
    )


class InvitationForm(PortalForm):
    """A name and where the letter goes."""

    name, email = who()
